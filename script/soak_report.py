"""What the soak found: figures, and in words whatever was not sound."""

import statistics
import time
from collections import Counter

from script.soak_cuts import ENDS_WITHIN_S, not_explained

GROWS_AT_MOST_PERCENT = 5
GROWN_UP_S = 600
"""A process that is younger has not been asked for everything often enough to tell."""
NAMED = 20


def grown(sizes):
    """Of each process that lived for long: its name, MB at the beginning and the end of its second half, percent.

    `sizes` are its samples by name, as (moment, kB).
    """
    found = []
    for name, samples in sizes.items():
        if samples[-1][0] - samples[0][0] >= GROWN_UP_S:
            half = [size for _at, size in samples[len(samples) // 2 :]]
            quarter = max(1, len(half) // 4)
            first, last = statistics.median(half[:quarter]), statistics.median(half[-quarter:])
            found.append((name, round(first / 1024), round(last / 1024), round(100 * (last - first) / first, 1)))
    return found


def summary(kept, *, record, sizes, seconds, live, still):
    """All of it as JSON can hold it: `sound`, and where it is not, `not_sound` in words."""
    grew = grown(sizes)
    missing = not_explained(kept.missing, kept.cuts)
    words = [
        *on_record(record),
        *unexplained(missing, kept.unexpected, kept.cuts),
        *(f"{each}." for each in live["did_not_hear"]),
        *too_large(grew),
    ]
    if not kept.answered:
        words.append("Not one event was answered: nothing was tried.")
    if still:
        words.append(f"{still} of those at work did not end when they were told to.")
    return {
        "sound": not words,
        "not_sound": words,
        "seconds": seconds,
        "events": {"answered": len(kept.answered), "refused": len(kept.refused), "sent": len(kept.sent)},
        "record": record,
        "killed": Counter(cut.what for cut in kept.cuts),
        "away_s_at_most": away_at_most(kept.cuts),
        "live": live,
        "missing": {"in_all": len(kept.missing), "not_explained": missing[:NAMED]},
        "unexpected": kept.unexpected[:NAMED],
        "threads_that_did_not_end": still,
        "statuses": {f"{route} {status}": count for (route, status), count in sorted(kept.statuses.items())},
        "memory": {name: f"{first} to {last} MB, {by:+} %" for name, first, last, by in grew}
        or f"not judged: no process lived for {GROWN_UP_S} s",
        "times": {route: times(took) for route, took in sorted(kept.times.items())},
    }


def times(took):
    return {
        "count": len(took),
        "p50_ms": round(1000 * statistics.median(took)),
        "p95_ms": round(1000 * sorted(took)[round(0.95 * (len(took) - 1))]),
    }


def away_at_most(cuts):
    """How long the pages were away for at most, by what was cut off; what costs one answer at most is left out."""
    ended = [(cut.what, round(cut.ended - cut.began, 1)) for cut in cuts if cut.ended < float("inf")]
    return {what: max(took for name, took in ended if name == what) for what, _ in ended}


ON_RECORD = {
    "lost": "events were answered and are not on record",
    "doubled": "events are on record twice",
    "nobody_sent": "events are on record that nobody sent",
    "refused_yet_on_record": "events were refused and are on record all the same",
    "stages_differ": "stages are not what their events come to",
}


def on_record(record):
    for name, words in ON_RECORD.items():
        if found := record[name]:
            many = found if isinstance(found, int) else len(found)
            yield f"{many} {words}: record, {name}."


def unexplained(missing, unexpected, cuts):
    if missing:
        first = missing[0]
        yield (
            f"{len(missing)} answers are missing which nothing that was cut off explains. The first was asked for at"
            f" {clock(first.began)} and waited for {first.ended - first.began:.1f} s:"
            f" {first.route}, {first.status or 'no answer'}, {first.said}. {last_cut(cuts, first.ended)}"
        )
    for route, status, at, said in unexpected[:NAMED]:
        words = f"{route}, {status or 'no answer'}, {said}"
        yield f"Nobody expects this, at {clock(at)}: {words}. {last_cut(cuts, at + ENDS_WITHIN_S)}"
    if len(unexpected) > NAMED:
        yield f"And {len(unexpected) - NAMED} more that nobody expects."


def last_cut(cuts, until):
    before = [cut for cut in cuts if cut.began <= until]
    return f"The last cut before its end was {before[-1].what}, at {clock(before[-1].began)}." if before else "No cut."


def too_large(grew):
    for name, first, last, by in grew:
        if by > GROWS_AT_MOST_PERCENT:
            yield f"{name} grew by {by} % over the second half of its life, from {first} to {last} MB."


def clock(moment):
    return time.strftime("%H:%M:%S", time.localtime(moment))
