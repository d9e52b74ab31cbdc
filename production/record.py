"""What happens to a blind at a station, judged and written down."""

from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.formats import date_format

from orders import intake
from orders.compiled import Compiled
from orders.models import Order
from orders.roles import role_word

from . import bench, codes, log, route, scrap, sent_back, steps
from .models import Blind, Stage, StationEvent
from .words import _

TRIES = 8


class Refused(Exception):
    """What was asked for can't be recorded; `problems` says each reason and the next step. Nothing was written."""

    def __init__(self, *problems):
        super().__init__(" ".join(problems))
        self.problems = list(problems)


@dataclass(frozen=True)
class Recorded:
    """The event on record; `again` where it was there already and nothing was written this time, else with the blind's
    stages as they are by it."""

    event: StationEvent
    again: bool
    stages: dict | None = None


def record(*, event_id, code, station, kind, by, at, data=None, tablet=None, received_at=None, issue=None):
    """Write down that `kind` happened at `station` to the blind with ticket code `code`.

    `event_id` is a UUID made by the tablet: the same one twice is the same event, answered again and not written
    again. `data` is {"key", "value"} for a step and {"back_to", "fault", "note", "scrapped"} for a fault, where
    `scrapped` is a list of {"part", "count"}. `tablet` is the enrolled tablet that it was done on, if any.
    `received_at` is given where it waited there before it was sent: then `at` is what the tablet says, and taken as no
    earlier than the blind's last event and no later than `received_at`. `issue` is that of the figures which the maker
    had in view, None for those that count now; by an issue of before nothing is recorded. Raises Refused with every
    reason at once.
    """
    data, kept = data or {}, {"at": at, "tablet": tablet, "received_at": received_at}
    for _tried in range(TRIES):
        try:
            with transaction.atomic():
                return _record(
                    event_id=event_id,
                    code=code,
                    station=station,
                    kind=kind,
                    by=by,
                    data=data,
                    kept=kept,
                    issue=issue,
                )
        except log.Crossed:
            continue
        except (Refused, IntegrityError) as error:
            # It is looked for only now, since nearly every event is a new one.
            if again := _on_record(event_id=event_id, code=code, station=station, kind=kind, by=by):
                return again
            if isinstance(error, Refused):
                raise
    raise Refused(_("Too many tablets are writing to this blind at once ({tries} tries). Try again.", tries=TRIES))


def _record(*, event_id, code, station, kind, by, data, kept, issue):
    _require_place(station=station, kind=kind, by=by)
    blind = _find(code)
    if issue not in (None, blind.issue):
        raise Refused(changed_since(blind))
    # Who holds them is asked only where something is refused.
    stages = {stage.station: stage for stage in _stages(blind.pk)}
    if kept["received_at"]:
        _require_own(blind, stages[station], by)
    back = sent_back.entered(data) if kind == route.SEND_BACK else {}
    try:
        moved = route.after(_states(stages), kind=kind, station=station, **back)
        data = RULES[kind](blind=blind, station=station, stages=stages, by=by, data=data)
    except route.OutOfOrder as reason:
        said = _("Blind {number} {reason}", number=blind.number, reason=reason)
        raise Refused(f"{said}{_whose(stages[station])}") from reason
    except scrap.Wrong as wrong:
        raise Refused(*wrong.problems) from wrong
    packed = kind == route.FINISH and station == route.PACKING
    # Held until the end, so that the last two blinds of an order see each other packed, or sent back.
    order = Order.objects.select_for_update().get(pk=blind.order_id) if packed or back else None
    if back:
        _require_here(blind, order)
    event = log.write(blind, stages, moved, event_id=event_id, station=station, kind=kind, by=by, data=data, kept=kept)
    if packed:
        _ready_if_last(order, by=by, at=event.at)
    if back:
        sent_back.told_to_sales(order=order, event=event)
    return Recorded(event, again=False, stages=stages)


def changed_since(blind):
    """Why what was entered for an earlier issue of the blind's figures isn't recorded."""
    change = StationEvent.objects.last_change(blind)
    if change is None:
        # No page of this blind says so: the form was put together elsewhere.
        return _("This page isn't of blind {number} as it is made now. Reload the page.", number=blind.number)
    return _(
        "Blind {number} was changed by {person} on {when}, and what you entered is for the figures of before. "
        "Stop, load its sheet anew, and go by the new figures.",
        number=blind.number,
        person=change.person,
        when=date_format(timezone.localtime(change.at), "D j M, H:i"),
    )


def _require_own(blind, stage, by):
    """What waited was entered by somebody who couldn't see that another had taken the blind up meanwhile."""
    if stage.state == route.IN_HAND and stage.person != by:
        raise Refused(
            _(
                "{person} has had blind {number} in hand at {place} since {time}. Look at it together, "
                "and enter there what still counts.",
                person=stage.person,
                number=blind.number,
                place=stage.place.name.lower(),
                time=f"{timezone.localtime(stage.since):%H:%M}",
            )
        )


def _require_here(blind, order):
    if not order.at_work:
        raise Refused(
            _(
                "Blind {number} has left the workshop with its order, which is {state}. "
                "Enter a new order for what is made again.",
                number=blind.number,
                state=_(order.get_state_display()).lower(),
            )
        )


def _on_record(*, event_id, code, station, kind, by):
    """The event as it was recorded before, or None; raises Refused where its id stands for something else."""
    event = StationEvent.objects.filter(event_id=event_id).first()
    if event is None:
        return None
    asked, on_record = (code, station, kind, by.pk), (event.blind.code, event.station, event.kind, event.person_id)
    if asked != on_record:
        raise Refused(
            _(
                "This tablet's number for the event was used before: {kind} at {station} of blind {number}. "
                "Reload the page and do it again.",
                kind=event.kind,
                station=event.station,
                number=event.blind.number,
            )
        )
    return Recorded(event, again=True)


def _require_place(*, station, kind, by):
    if station not in route.STATION:
        raise Refused(
            _(
                "There is no station called {name}. Choose one of {stations}.",
                name=repr(station),
                stations=", ".join(route.STATION),
            )
        )
    if kind not in RULES:
        raise Refused(
            _("{kind} doesn't happen at a station. It is one of {kinds}.", kind=repr(kind), kinds=", ".join(RULES))
        )
    place = route.STATION[station]
    if not by.holds(*place.roles):
        roles = _(" or a ").join(role_word(role).lower() for role in place.roles)
        raise Refused(
            _(
                "{person} does not work at {place}: that is for a {roles}.",
                person=by,
                place=place.name.lower(),
                roles=roles,
            )
        )


def _find(code):
    found = _with_code(code)
    if not found:
        try:
            named = codes.read_code(code)
        except codes.CodeError as wrong:
            raise Refused(str(wrong)) from wrong
        number = codes.human_number(order_number=named.order_number, serial=named.serial)
        raise Refused(_("There is no blind {number}. Check the number on the ticket and scan it again.", number=number))
    return found[0]


@Compiled
def _with_code(code):
    return Blind.objects.select_related("order", "revision").filter(code=code).order_by()


@Compiled
def _stages(blind):
    return Stage.objects.filter(blind=blind)


def _states(stages):
    return {station: route.StageState(stage.state, stage.attempt) for station, stage in stages.items()}


def _whose(stage):
    if stage.person and stage.state in (route.IN_HAND, route.DONE):
        return _(" ({person}, since {time})", person=stage.person, time=f"{timezone.localtime(stage.since):%H:%M}")
    return ""


def _ready_if_last(order, *, by, at):
    if not Blind.objects.of_order(order).unpacked().exists():
        intake.mark_ready(order=order, by=by, at=at)


def _start_rule(*, blind, station, stages, by, data):
    """Nobody checks their own work."""
    if station == route.CHECKING:
        _require_second_person(blind, by)
    return {}


def _require_second_person(blind, by):
    own = StationEvent.objects.of_blind(blind).making_by(by).first()
    if own:
        raise Refused(
            _(
                "{person} worked on blind {number} at {place}, so someone else must check it.",
                person=by,
                number=blind.number,
                place=route.STATION[own.station].name.lower(),
            )
        )


def _pause_rule(*, blind, station, stages, by, data):
    return {"reason": str(data.get("reason", ""))[:200]}


def _step_rule(*, blind, station, stages, by, data):
    """What may be entered for a step: a confirmation, a whole count, a length in mm to a tenth, or a short note."""
    here = bench.read(blind=blind, station=station, stages=stages)
    step = next((found.step for found in here.steps if found.step.key == data.get("key") and found.step.must), None)
    if step is None:
        raise Refused(
            _(
                "Blind {number} has no step {key} at {station}. Reload the page.",
                number=blind.number,
                key=repr(data.get("key")),
                station=station,
            )
        )
    if station == route.CHECKING:
        _require_second_person(blind, by)
    return {"key": step.key, "value": _value_of(step, data.get("value"))}


def _value_of(step, value):
    if step.kind in (steps.TICK, steps.SAFETY, steps.ACKNOWLEDGE):
        if value is not True:
            raise Refused(
                _(
                    "A confirmation is either given or not; got {value}. Tick the step: {step}",
                    value=repr(value),
                    step=step,
                )
            )
        return True
    if step.kind == steps.NOTE:
        text = str(value or "").strip()
        if not 0 < len(text) <= 60:
            raise Refused(_("Write 1 to 60 characters; got {count}. {step}", count=len(text), step=step))
        return text
    return _count_of(step, value) if step.kind == steps.COUNT else _length_of(step, value)


def _count_of(step, value):
    try:
        count = int(str(value).strip())
    except ValueError:
        raise Refused(
            _("{value} is not a whole number. Type digits only. {step}", value=repr(value), step=step)
        ) from None
    if not 0 <= count <= 999:
        raise Refused(_("{count} is outside 0 to 999. Count again. {step}", count=count, step=step))
    return count


def _length_of(step, value):
    try:
        tenths = float(str(value).strip().replace(",", ".")) * 10
        length = round(tenths)
    except (ValueError, OverflowError):
        raise Refused(
            _("{value} is not a length. Type millimetres, such as 63 or 63.5. {step}", value=repr(value), step=step)
        ) from None
    if abs(tenths - length) > 1e-6 or not 0 < length <= 100_000:
        raise Refused(
            _("{value} is not a length from 0.1 to 10000 mm in tenths. Measure again. {step}", value=value, step=step)
        )
    return length // 10 if length % 10 == 0 else length / 10


def _finish_rule(*, blind, station, stages, by, data):
    """A station is finished when every step that must be entered is, and nothing entered is wrong."""
    if station == route.CHECKING:
        _require_second_person(blind, by)
    problems = bench.read(blind=blind, station=station, stages=stages).problems
    if problems:
        raise Refused(*problems)
    return {}


def _send_back_rule(*, blind, station, stages, by, data):
    return sent_back.recorded(blind=blind, station=station, data=data)


RULES = {
    route.START: _start_rule,
    route.PAUSE: _pause_rule,
    route.RESUME: _start_rule,
    route.STEP: _step_rule,
    route.FINISH: _finish_rule,
    route.SEND_BACK: _send_back_rule,
}
