"""The only writer of work that goes on outside any request: asked for, done piece by piece, cancelled, ended.

A function marked `@background` is queued in the database by `begin`, and called by a worker (orders/worker.py) with a
`Progress` and the values that it was begun with. It may be begun anew after whoever did it was killed, so it must bear
being done twice: what it writes, it writes in one transaction with `progress.finish`, or guards piece by piece.
"""

import datetime as dt
import logging
import threading
import time
from dataclasses import dataclass
from functools import wraps

from django.db import IntegrityError, InterfaceError, OperationalError, transaction
from django.db.models.functions import Now
from django.utils import timezone
from django_tasks import task
from django_tasks_db.models import DBTaskResult

from orders.models import Work, Worker, WorkResult

LOST_TOUCH = (OperationalError, InterfaceError)
"""The database is gone or busy: the work itself is not at fault, and is begun anew."""
MOST_ATTEMPTS = 3
TELL_EVERY_S = 1
SILENT_FOR = dt.timedelta(minutes=1)
"""A worker that was not heard of for so long is dead."""
STOPPING = threading.Event()
"""Set while this process, told to end or of another version, takes up no more: what it does is put back at the next
step."""

_log = logging.getLogger(__name__)


class NotDone(Exception):
    """It can't be done; the message says why and what to do next."""


class Cancelled(Exception):
    """Somebody has asked for it to be left."""


class NotOurs(Exception):
    """Somebody else does it by now, or it is put back: whoever has it must write nothing more."""


def background(function=None, *, left=None):
    """Mark a function of a module, to be begun by `begin`.

    `left(reason, **values)` is called instead, in the transaction that ends the work, where it is cancelled, fails or
    was cut off too often: it says what becomes of what was not done.
    """
    if function is None:
        return lambda function: background(function, left=left)

    @wraps(function)
    def run(pk, attempt, **values):
        _run(function, pk=pk, attempt=attempt, values=values)

    run.left = left
    return task(run)


def begin(function, *, what, by, order=None, customer=None, same="", whole=0, **values) -> Work:
    """Ask for work: `function` with `values`, which must be what JSON can hold.

    It waits in the transaction of its caller. Where `by` asked for the `same` already and it is still open, that is
    given back.
    """
    if same and (found := Work.objects.open().filter(by=by, same=same).first()):
        return found
    try:
        with transaction.atomic():
            work = Work.objects.create(
                what=what[:200],
                by=by,
                order=order,
                customer=customer,
                same=same,
                whole=whole,
                asked_at=timezone.now(),
            )
            _queue(function, work, values)
    except IntegrityError:
        return Work.objects.open().get(by=by, same=same)
    return work


def _queue(function, work, values):
    work.task = function.enqueue(work.pk, work.attempt, **values).id
    work.save(update_fields=["task"])


def cancel(*, work, by):
    """Ask for it to be left: at once where it waits, and else before its next piece. What is done stays done."""
    with transaction.atomic():
        found = Work.objects.select_for_update().get(pk=work.pk)
        if not found.is_open:
            return
        Work.objects.filter(pk=found.pk, cancelled_by=None).update(cancelled_by=by)
        if found.state == Work.WAITING:
            found.refresh_from_db()
            _leave(found, Work.CANCELLED)


class Progress:
    """How whoever does the work tells how far it is, and learns that it is to be left."""

    def __init__(self, pk, attempt):
        self._mine = Work.objects.filter(pk=pk, attempt=attempt, state=Work.RUNNING)
        self._told = None

    def step(self, done, whole=None, said=None):
        """`done` pieces of `whole` so far; told at most once a second. Raises Cancelled, or NotOurs."""
        if STOPPING.is_set():
            raise NotOurs
        now = time.monotonic()
        if self._told is not None and now - self._told < TELL_EVERY_S and said is None:
            return
        self._told = now
        told = {"done": done, "whole": whole, "said": said}
        if not self._mine.update(**{name: value for name, value in told.items() if value is not None}):
            raise NotOurs
        if self._mine.exclude(cancelled_by=None).exists():
            raise Cancelled

    def finish(self, *, said="", leads_to="", result=None):
        """It is done. In the transaction of what it wrote, which NotOurs or Cancelled then undoes.

        `result` is a file as (name, kind, bytes). Raises NotDone where that is too large.
        """
        with transaction.atomic():
            work = self._mine.select_for_update().first()
            if work is None:
                raise NotOurs
            if work.cancelled_by_id:
                raise Cancelled
            if result:
                _keep(work, *result)
            work.done = work.whole
            _end(work, Work.DONE, said=said, leads_to=leads_to)


def _keep(work, name, content_type, content):
    if len(content) > WorkResult.MOST_BYTES:
        raise NotDone(
            f"It came to {len(content) / 1e6:.0f} MB, and no more than {WorkResult.MOST_BYTES // 1_000_000} MB are "
            "kept. Ask for less at once."
        )
    WorkResult.objects.create(work=work, name=name, content_type=content_type, content=content)


def _run(function, *, pk, attempt, values):
    """One attempt. Whatever becomes of it is on record, unless the database is gone or this process dies."""
    mine = Work.objects.filter(pk=pk, attempt=attempt)
    if not mine.filter(state=Work.WAITING).update(state=Work.RUNNING, done=0, said=""):
        return
    try:
        function(Progress(pk, attempt), **values)
    except NotOurs:
        if STOPPING.is_set():
            put_back(pk, attempt=attempt, counts=False)
    except Cancelled:
        _give_up(pk, attempt, Work.CANCELLED)
    except NotDone as reason:
        _give_up(pk, attempt, Work.FAILED, str(reason))
    except LOST_TOUCH:
        raise
    except Exception as error:
        _log.exception("Work %s was not done", pk)
        said = (
            f"It broke ({type(error).__name__}). Ask for it again; if it breaks again, tell whoever looks after this."
        )
        _give_up(pk, attempt, Work.FAILED, said)


def _give_up(pk, attempt, state, said=""):
    with transaction.atomic():
        work = Work.objects.select_for_update().filter(pk=pk, attempt=attempt, state=Work.RUNNING).first()
        if work:
            _leave(work, state, said)


def _leave(work, state, said=""):
    """End it without its being done; whoever began it is told what becomes of the rest."""
    said = said or f"Cancelled by {work.cancelled_by}."
    queued = DBTaskResult.objects.get(pk=work.task)
    if left := queued.task.func.left:
        left(said, **queued.args_kwargs["kwargs"])
    _end(work, state, said=said)


def _end(work, state, *, said, leads_to=""):
    work.state, work.said, work.leads_to, work.ended_at = state, said, leads_to, timezone.now()
    work.save(update_fields=["state", "said", "leads_to", "ended_at", "done"])


def put_back(pk, *, attempt, counts=True):
    """Queue anew what was cut off in its attempt, as the next one; given up where it was cut off too often.

    `counts`: whether being cut off may be its own fault.
    """
    with transaction.atomic():
        work = Work.objects.open().select_for_update().filter(pk=pk, attempt=attempt).first()
        if work is None:
            return
        queued = DBTaskResult.objects.get(pk=work.task)
        DBTaskResult.objects.running().filter(pk=work.task).update(status="FAILED", finished_at=timezone.now())
        if work.cancelled_by_id:
            _leave(work, Work.CANCELLED)
        elif counts and work.cut_off + 1 >= MOST_ATTEMPTS:
            said = f"It was cut off {MOST_ATTEMPTS} times. Ask for less at once, or tell whoever looks after this."
            _leave(work, Work.FAILED, said)
        else:
            work.attempt, work.cut_off, work.state = work.attempt + 1, work.cut_off + counts, Work.WAITING
            work.said = "It was cut off, and is begun anew."
            work.save(update_fields=["attempt", "cut_off", "state", "said"])
            _queue(queued.task, work, queued.args_kwargs["kwargs"])


@dataclass(frozen=True)
class Seen:
    """When a worker was seen last, by the database's clock, and whether one lives."""

    at: dt.datetime
    lives: bool


def worker_seen() -> Seen | None:
    """The worker that was seen last; None where there was none within a week."""
    found = list(Worker.objects.annotate(now=Now()))
    living = [each for each in found if not each.gone and abs(each.now - each.seen_at) < SILENT_FOR]
    if not found:
        return None
    return Seen(at=max(each.seen_at for each in living or found), lives=bool(living))
