"""The day that sales promise unless they choose another."""

import datetime as dt

from orders.calendar import Calendar

USUAL_WORKING_DAYS = 10


def usual_day(*, today: dt.date, calendar: Calendar) -> dt.date:
    """Ten working days after `today` by the workshop's calendar. Raises calendar.NoWorkingDay where there are none."""
    return calendar.after(today, working_days=USUAL_WORKING_DAYS)
