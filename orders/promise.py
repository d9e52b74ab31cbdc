"""The day that sales promise unless they choose another."""

import datetime as dt

USUAL_WORKING_DAYS = 10
SATURDAY = 5


def usual_day(*, today: dt.date) -> dt.date:
    """Ten working days after `today`, Monday to Friday; public holidays are not left out, so look before promising."""
    day, left = today, USUAL_WORKING_DAYS
    while left:
        day += dt.timedelta(days=1)
        if day.weekday() < SATURDAY:
            left -= 1
    return day
