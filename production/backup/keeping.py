"""Which backups are kept: those of the last two days, the newest of each of so many days and weeks, and the newest.

Days and weeks are counted by the backups that there are, not by the clock: a month without any takes none away.
"""

import datetime as dt

from .archive import NAME, UNFINISHED, WHEN, sum_file

LATELY = dt.timedelta(days=2)


def made_at(path):
    """The moment in the name of a backup, or None where it is none."""
    found = NAME.fullmatch(path.name)
    return dt.datetime.strptime(found[1], WHEN).replace(tzinfo=dt.UTC) if found else None


def backups(folder):
    """The backups in the folder, the newest first."""
    found = [path for path in folder.iterdir() if made_at(path)]
    return sorted(found, key=lambda path: (made_at(path), path.name), reverse=True)


def newest(folder):
    """When the newest backup in the folder was made, or None where there is none, or no folder."""
    found = backups(folder) if folder.is_dir() else []
    return made_at(found[0]) if found else None


def kept(paths, *, days, weeks, at):
    """Those of the backups, the newest first, that are kept."""
    by_day, by_week = {}, {}
    for path in paths:
        made = made_at(path)
        by_day.setdefault(made.date(), path)
        by_week.setdefault(made.isocalendar()[:2], path)
    lately = {path for path in paths if made_at(path) > at - LATELY}
    return lately | set(paths[:1]) | set(list(by_day.values())[:days]) | set(list(by_week.values())[:weeks])


def put_away(folder, *, new, days, weeks, at):
    """Remove what is no longer kept once `new` is there and checked; returns how many that were."""
    found = backups(folder)
    old = [path for path in found if path not in kept(found, days=days, weeks=weeks, at=at) | {new}]
    for path in old:
        path.unlink()
        sum_file(path).unlink(missing_ok=True)
    for path in folder.glob(f"*{UNFINISHED}"):
        made = made_at(path.with_name(path.name.removesuffix(UNFINISHED)))
        if made and made < at - LATELY:
            path.unlink()
    return len(old)
