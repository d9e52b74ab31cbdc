"""What the office's pages say of the changes asked for on an order at work."""

import datetime as dt
from collections import defaultdict

from django.utils.formats import date_format

from orders.models import OrderLine
from orders.spec import spec_of

from . import amend_plan, route
from .changed import between, said_between, version_words
from .history import office_detail
from .models import Amendment, Blind, StationEvent


def told(amendments):
    """Each of `amendments`, read `with_people`, with all that is said of it; a constant number of queries.

    `rows` holds what differs, figure by figure; `plan` is what an open one would come to, None once it is decided.
    """
    amendments = list(amendments)
    plans = {plan.amendment.pk: plan for plan in amend_plan.plans([each for each in amendments if each.is_open])}
    events = _accepted(amendments)
    catalogue = amend_plan.Catalogue()
    return [
        {"amendment": each, "plan": plans.get(each.pk), **_rows(each, plans.get(each.pk), events[each.pk], catalogue)}
        for each in amendments
    ]


def _accepted(amendments):
    """The events that accepted changes of these orders left in their blinds' logs, by amendment."""
    orders = {each.order_id for each in amendments if each.state == Amendment.ACCEPTED}
    kinds = (route.AMEND, route.TAKE_OFF)
    found = StationEvent.objects.filter(blind__order__in=orders, kind__in=kinds).order_by("blind", "sequence")
    events = defaultdict(list)
    for event in found.select_related("blind__order"):
        events[event.data["amendment"]].append(event)
    return events


def _rows(amendment, plan, events, catalogue):
    if amendment.kind == Amendment.HEAD:
        return {"rows": _head_rows(amendment), "undone": []}
    undone = [_undone(event) for event in events]
    if plan and plan.before:
        return {"rows": between(plan.before, plan.version), "undone": undone}
    if amendment.kind == Amendment.CHANGE and events:
        return {"rows": between(events[0].data["before"], events[0].data["after"]), "undone": undone}
    if amendment.kind in (Amendment.CHANGE, Amendment.ADD):
        return {"wanted": _wanted(amendment, catalogue), "undone": undone}
    return {"undone": undone}


def _wanted(amendment, catalogue):
    """What was asked for, where nothing is there to hold it against."""
    line = amend_plan.line_of(amendment.asked, order=amendment.order, catalogue=catalogue)
    said = {"spec": spec_of(line, market=amendment.order.market), "fabric": str(line.fabric)}
    said |= {"room": line.room, "special_instruction": line.special_instruction, "concerns": line.concerns}
    count = {"label": "Blinds", "unit": "", "old": "", "new": str(line.quantity)}
    return [count, *version_words(said)]


def _head_rows(amendment):
    asked, was = amendment.asked, amendment.asked["was"]
    labels = {"due_on": "Promised day", "note": "Note"}
    return [
        {"label": label, "unit": "", "old": _head_word(name, was), "new": _head_word(name, asked)}
        for name, label in labels.items()
        if was[name] != asked[name]
    ]


def _head_word(name, head):
    return date_format(dt.date.fromisoformat(head[name]), "D j M Y") if name == "due_on" else head[name]


def _undone(event):
    """What an accepted change undid of one blind."""
    return {"blind": event.blind, "detail": office_detail({**event.data, "because": ""})}


def accepted_of(order):
    """The accepted changes of an order's blinds in short, the newest first: one query."""
    events = StationEvent.objects.filter(blind__order=order, kind=route.AMEND).select_related("person", "blind__order")
    found = {}
    for event in events.order_by("-at", "blind__serial"):
        said = found.setdefault(
            event.data["amendment"],
            {"event": event, "blinds": [], "rows": said_between(event.data["before"], event.data["after"])},
        )
        said["blinds"].append(event.blind)
    return list(found.values())


def lines_to_ask(order):
    """The order's lines with the blinds that can still be changed, in their order: [{line, blinds}]."""
    open_blinds = set(Blind.objects.of_order(order).unpacked().values_list("pk", flat=True))
    blinds = defaultdict(list)
    for blind in Blind.objects.of_order(order).with_order():
        if blind.pk in open_blinds:
            blinds[blind.line_id].append(blind)
    lines = OrderLine.objects.filter(order=order).in_order()
    return [{"line": line, "blinds": blinds[line.pk]} for line in lines if blinds[line.pk]]
