"""What the tests of the office's pages share: opening a page, counting its queries, filling in an order's head."""

import datetime as dt

from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from orders import calendar


def page_of(client, name, *args, **query):
    """The text of the page called `name`, which must open."""
    answer = client.get(reverse(name, args=args), query)
    assert answer.status_code == 200
    return answer.content.decode()


def queries_of(client, address):
    """How many queries the page at `address` takes, but for writing down once an hour who saw it."""
    with CaptureQueriesContext(connection) as queries:
        assert client.get(address).status_code == 200
    return len([query for query in queries if "INSERT" not in query["sql"] or "auditentry" not in query["sql"]])


def in_days(days):
    return timezone.localdate() + dt.timedelta(days=days)


def working_day_in(days):
    """The first working day that is so many days off, or more."""
    return calendar.read().on_or_after(in_days(days))


def head(**given):
    """What a browser sends for the head of an order."""
    return {
        "customer": "",
        "customer_text": "",
        "due_on": in_days(14).isoformat(),
        "market": "",
        "reference": "",
        "note": "",
        **given,
    }
