"""Whether all is well with the server: what is wrong, since when, what it means for the workshop, and what to do.

What only is worth knowing, and may be so by choice, is a note. Nothing here is kept: it is looked at when asked.
"""

import datetime as dt
from dataclasses import dataclass
from itertools import groupby

from django.conf import settings
from django.utils import timezone
from django.utils.formats import date_format

from orders import mail
from orders.models import Letter, Work
from orders.work import worker_seen

from . import machine
from .backup import keeping
from .clock import clock_doubt
from .models import Mishap, StationEvent, Tablet

DAY = dt.timedelta(days=1)
SLOW_DATABASE_MS = 50
"""The least question takes a fraction of a millisecond beside the database, a few over a network."""
NO_BACKUP_FOR = dt.timedelta(hours=26)
"""A day, and what a large one may take longer than that of the night before."""
OFTEN_SLOW = 20
"""So many slow answers of one address in a day are told; a few are a large paper, or a server that has just begun."""


@dataclass(frozen=True, kw_only=True)
class Finding:
    """`what` is wrong, `since` a moment where that is known, what it `means`, and what to `do`."""

    key: str
    what: str
    means: str
    do: str
    since: dt.datetime | None = None


def wrong(*, at):
    """All that is wrong at the moment `at`, the most pressing first."""
    return [finding for look in LOOKS for finding in look(at)]


def notes(*, secure):
    """What is worth knowing of how this server is set up; `secure`: whether the page that asks came by https."""
    if settings.DEBUG:
        yield Finding(
            key="debug",
            what="DEBUG is on.",
            means="Whoever causes an error sees parts of this server's code and settings.",
            do="Take DEBUG out of the settings and start the server anew.",
        )
    if not secure:
        yield Finding(
            key="plain-http",
            what="Pages travel without TLS, by http.",
            means="Whoever is on the same network can read passwords and customers' addresses, and tablets without "
            "network show nothing after a reload.",
            do="Keep strangers off this network, or put a proxy with a certificate in front and set HTTPS=on.",
        )
    if not mail.has_server():
        yield Finding(
            key="no-mail-server",
            what="No mail server is set up.",
            means="Papers for customers are files in the outbox folder, and reach nobody.",
            do="Set EMAIL_URL and MAIL_FROM, and start the server anew.",
        )


def _many(found, one, many):
    return f"One {one}" if len(found) == 1 else f"{len(found)} {many}"


def _disk(at):
    disk = machine.disk()
    if disk.is_low:
        yield Finding(
            key="disk",
            what=f"The disk is nearly full: {disk} are free.",
            means="Once it is full, nothing can be entered at any station or desk. What was entered before stays.",
            do="Move old backups and other large files to another disk, or have a larger one put in.",
        )


def _database(at):
    taken = sorted(machine.database_ms() for _ in range(3))[1]
    if taken > SLOW_DATABASE_MS:
        yield Finding(
            key="database",
            what=f"The database is slow: the least question takes {taken:.0f} ms.",
            means="Every page and every press at a station takes longer.",
            do="See what else this machine is doing, and whether its disk or its network is busy.",
        )


def _errors(at):
    found = list(Mishap.objects.since(kind=Mishap.BROKE, at=at - DAY))
    if found:
        newest, many = found[0], _many(found, "answer", "answers")
        yield Finding(
            key="errors",
            what=f"{many} broke in the last 24 hours, the newest with number {newest.number}.",
            means=f"Whoever saw it was told to try again. The newest: {newest.said}, on the page “{newest.route}”.",
            do="Send the lines of the log with that number to whoever looks after the program, and say what was done.",
            since=found[-1].at,
        )


def _slow(at):
    found = Mishap.objects.since(kind=Mishap.SLOW, at=at - DAY)
    for route, slow in groupby(sorted(found, key=lambda each: each.route), key=lambda each: each.route):
        slow = list(slow)
        times = sum(each.times for each in slow)
        if times >= OFTEN_SLOW:
            worst = max(slow, key=lambda each: each.ms)
            yield Finding(
                key=f"slow-{route}",
                what=f"The page “{route}” was slow {times} times in the last 24 hours.",
                means=f"At worst it took {worst.ms / 1000:.1f} s, with {worst.queries} questions to the database; "
                f"its number is {worst.number}.",
                do="See whether this machine is busy with anything else. If it isn't, send these figures to whoever "
                "looks after the program.",
                since=min(each.at for each in slow),
            )


def _backup(at):
    newest = keeping.newest(settings.BACKUPS)
    if newest is None or at - newest > NO_BACKUP_FOR:
        yield Finding(
            key="backup",
            what="The newest backup is more than a day old." if newest else "There is no backup.",
            means=f"If this disk broke now, everything{' entered since then' if newest else ''} would be lost.",
            do="Take one now: sudo systemctl start railwright-backup. Then see why none was taken in the night: "
            "journalctl -u railwright-backup",
            since=newest,
        )


def _worker(at):
    seen = worker_seen()
    if not (seen and seen.lives):
        yield Finding(
            key="worker",
            what="Nobody does the work in the background.",
            means="Mail, large papers and large files wait until somebody does. Nothing of them is lost.",
            do="Start it: sudo systemctl restart railwright-work. If it ends again, its log says why.",
            since=seen.at if seen else None,
        )


def _work(at):
    failed = list(Work.objects.failed(since=at - DAY))
    if failed:
        many = _many(failed, "piece of work", "pieces of work")
        yield Finding(
            key="work",
            what=f"{many} in the background could not be done in the last 24 hours.",
            means=f"Whoever asked sees why. The newest: {failed[0].what}. {failed[0].said}",
            do="Put right what it says, then ask for it again.",
            since=failed[-1].ended_at,
        )


def _mail(at):
    failed = list(Letter.objects.failed(since=at - DAY))
    if failed:
        newest, many = failed[0], _many(failed, "letter", "letters")
        yield Finding(
            key="mail",
            what=f"{many} to customers could not be sent in the last 24 hours.",
            means=f"Their order's page says so, and offers to send again. The newest: {newest.reason}",
            do="Put right what the reason says, then send the letters again from their orders' pages.",
            since=failed[-1].at,
        )


def _tablets(at):
    """Tablets on which nothing was entered today, on a day on which others are worked on."""
    today = timezone.localtime(at).replace(hour=0, minute=0, second=0, microsecond=0)
    used = StationEvent.objects.tablets_used(since=today)
    if not used:
        return
    for tablet in Tablet.objects.in_use():
        if tablet.pk not in used and tablet.enrolled_at < today:
            last = StationEvent.objects.newest_at(tablet)
            yield Finding(
                key=f"tablet-{tablet.pk}",
                what=f"Nothing was entered today on the tablet {tablet}.",
                means=f"If somebody works at {tablet.get_station_display().lower()} there, what they enter may wait on "
                "the tablet, which keeps it until it is back in the network.",
                do="Look whether it is switched on, in the network and at its station’s page. Retire it if it is no "
                "longer used.",
                since=last.at if last else None,
            )


def _clock(at):
    ahead = clock_doubt(at=at)
    if ahead:
        yield Finding(
            key="clock",
            what=f"The newest event on record is of {date_format(timezone.localtime(ahead), 'D j M Y, H:i')}, which is "
            "still to come by this server's clock.",
            means="Its clock is wrong now, or was ahead when that was recorded. Nothing is lost, and each blind's log "
            "stands in its order; times on the day sheet and the plan may be wrong.",
            do="Set the clock by a time server: timedatectl set-ntp true. If it is right, wait: it passes by itself.",
        )


LOOKS = (_disk, _clock, _backup, _worker, _errors, _work, _mail, _database, _slow, _tablets)
