"""A day as a file gives it: year-month-day, with dots or strokes, with a month's name, or as a spreadsheet's count."""

import datetime as dt
import re

_NUMBERS = re.compile(r"(\d{1,4})([-./ ])(\d{1,2})\2(\d{1,4})(?: 00:00(?::00)?)?")
_NAMED = re.compile(r"(\d{1,2})[ .-]*([a-z]{3,9})[ .,-]*(\d{4})")
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
FIRST_DAY = dt.date(1899, 12, 30)
"""Day 0 of the 1900 date system of spreadsheets from March 1900 on (ECMA-376 part 1, 18.17.4.1); from memory."""
HOW = "Write it as year-month-day, such as 2026-03-18."


class DayError(ValueError):
    """A text that is no day, or could be two."""


def read_day(text: str) -> dt.date:
    tidy = text.strip().casefold()
    if re.fullmatch(r"[3-6]\d{4}", tidy):
        return FIRST_DAY + dt.timedelta(days=int(tidy))
    if found := _NAMED.fullmatch(tidy):
        month = found[2][:3]
        if month in MONTHS:
            return _day(text, found[3], MONTHS.index(month) + 1, found[1])
    if found := _NUMBERS.fullmatch(tidy):
        return _in_numbers(text, found[1], found[2], found[3], found[4])
    raise DayError(f"That is no day. {HOW}")


def _in_numbers(text, first, sign, second, third):
    if len(first) == 4:
        return _day(text, first, second, third)
    if len(third) != 4:
        raise DayError(f"The year must have four digits. {HOW}")
    if sign == "." or first == second or int(first) > 12:
        return _day(text, third, second, first)
    if int(second) > 12:
        return _day(text, third, first, second)
    days = [_day(text, third, month, day) for month, day in ((second, first), (first, second))]
    raise DayError(f"That could be {' or '.join(f'{day.day} {day:%B %Y}' for day in days)}. {HOW}")


def _day(text, year, month, day):
    try:
        return dt.date(int(year), int(month), int(day))
    except ValueError:
        raise DayError(f"No such day is in the calendar. {HOW}") from None
