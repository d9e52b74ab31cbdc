"""Whose turn it is at a station: the queue's blinds in the order of work, an order staying together.

The rule is calc's, and the plan goes by it too. Here an order counts with all of its work, done or not, so that its
turn doesn't change while it is made.
"""

import datetime as dt
from collections import defaultdict

from calc.order_of_work import Work, place, widths_in_turn

from . import route, worktimes
from .models import Blind
from .planning import minutes_table


def in_turn(traces, *, at):
    """The rows of `Stage.objects.traces_at` in the order of work; one more query, and one for the day's minutes."""
    promised = {number: (due_on, rush) for *_, due_on, rush, number, _serial in traces}
    widths, minutes = defaultdict(dict), defaultdict(int)
    total = _minutes_in_all(at)
    for blind, number, spec in Blind.objects.specs_by_order_number(list(promised)):
        widths[number][blind] = spec["vane_width_mm"]
        minutes[number] += total[worktimes.kind_of_spec(spec)]
    works = {
        number: Work(
            key=number,
            minutes={},
            whole=minutes[number],
            first=dt.date.min,
            due=due_on,
            rush=rush,
            widths=tuple(sorted(set(widths[number].values()))),
        )
        for number, (due_on, rush) in promised.items()
    }
    places = {number: (place(work), widths_in_turn(work)) for number, work in works.items()}

    def turn(trace):
        blind, number, serial = trace[0], *trace[-2:]
        order, mounted = places[number]
        width = widths[number].get(blind)
        return order, mounted.index(width) if width in mounted else 0, serial

    return sorted(traces, key=turn)


def _minutes_in_all(at):
    """What a blind of each kind takes at all stations together."""
    table = minutes_table(at=at)
    return {kind: sum(table[key, kind].counts for key in route.STATION) for kind in worktimes.KINDS}
