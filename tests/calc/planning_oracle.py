"""A second way to plan, minute by minute and as slow as it is plain, that the planning in calc is checked against."""

from datetime import date
from itertools import count


def in_order_of_work(works):
    """Sorted by one rule after the other, the last first."""
    works = sorted(works, key=lambda work: work.key)
    works.sort(key=lambda work: sum(work.minutes.values()))
    works.sort(key=_widths)
    works.sort(key=lambda work: 0 if work.rush else 1)
    works.sort(key=lambda work: work.due or date.min)
    return [work for work in works if work.due] + [work for work in works if not work.due]


def _widths(work):
    # Day 1 of the calendar that Python counts by is odd; a day without promise counts as even.
    widths = sorted(set(work.widths))
    return [-width for width in reversed(widths)] if work.due and (work.due - date.min).days % 2 == 0 else widths


def finishes(shop, works):
    """By order, the place of its last working day, None beyond the horizon: each minute to the first that is free."""
    free = {(station, at): minutes for station in shop.route for at, minutes in enumerate(shop.minutes_by_day(station))}
    mounted, found = {}, {}
    for work in in_order_of_work(works):
        minutes = {station: of for station, of in work.minutes.items() if of}
        for station in minutes:
            minutes[station] += _set_up(shop, station, work, mounted)
        found[work.key] = _finish(shop, work, minutes, free)
    return found


def _set_up(shop, station, work, mounted):
    spent = 0
    for width in map(abs, _widths(work)):
        spent += (shop.setup_minutes or {}).get(station, 0) if mounted.setdefault(station, width) != width else 0
        mounted[station] = width
    return spent


def _finish(shop, work, minutes, free):
    first = next(at for at in count() if at == len(shop.days) or shop.days[at] >= work.first)
    ends, waiting = {}, list(shop.route)
    while waiting:
        station = next(each for each in waiting if not set(shop.route[each]) & set(waiting))
        waiting.remove(station)
        at = max([first, *(ends[before] for before in shop.route[station])])
        if station not in minutes:
            ends[station] = at
            continue
        for _ in range(minutes[station]):
            while not free.get((station, at), 0):
                at += 1
                if at >= len(shop.days):
                    return None
            free[station, at] -= 1
        ends[station] = at + shop.transfer_days
    done = [ends[station] - shop.transfer_days for station in minutes]
    finish = max([first, *done])
    return finish if finish < len(shop.days) else None


def will_do(shop, booked, new, due):
    """Whether `new` can be promised for `due`: everybody planned with it and without, and compared."""
    without = finishes(shop, booked)
    among = finishes(shop, [*booked, due_on(new, due)])
    if not _in_time(shop, among[new.key], due):
        return False
    return all(
        work.due is None
        or without[work.key] is None
        or _in_time(shop, among[work.key], work.due)
        or among[work.key] == without[work.key]
        or (among[work.key] is not None and among[work.key] < without[work.key])
        for work in booked
    )


def due_on(work, due):
    return type(work)(key=work.key, minutes=work.minutes, first=work.first, due=due, rush=work.rush, widths=work.widths)


def _in_time(shop, finish, due):
    """Finished, and so many working days left up to the day that was promised."""
    return (
        finish is not None
        and sum(shop.days[finish] < day <= due for day in shop.days) >= shop.buffer_days
        and (shop.days[finish] <= due)
    )
