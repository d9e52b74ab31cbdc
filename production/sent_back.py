"""What a fault that sends a blind back comes to: what is recorded, the rail's new label, the order's promise."""

from orders import intake
from orders.models import Order

from . import codes, route, scrap
from .models import FaultKind
from .words import _, listed


def entered(data):
    """Where a fault goes, and where else something that was scrapped is made anew, for `route.after`."""
    back_to = data.get("back_to")
    beside = scrap.beside(data.get("scrapped", []), back_to=back_to) if back_to in route.STATION else ()
    return {"back_to": back_to, "beside": beside}


def recorded(*, blind, station, data):
    """What is recorded of a fault, from what was entered; raises scrap.Wrong with every reason why it can't be.

    `remake` stands there where the rail's label went with what was scrapped: the number of the one that is made now.
    """
    fault, back_to = data.get("fault"), data["back_to"]
    problems = []
    # A kind that went out of use while a page was open is still what the maker saw.
    if fault not in FaultKind.objects.words():
        offered = ", ".join(kind.words for kind in FaultKind.objects.on_offer())
        problems.append(_("Say what is wrong: choose one of {offered}.", offered=offered))
    try:
        scrapped = scrap.read(
            data.get("scrapped", []),
            station=station,
            back_to=back_to,
            spec=blind.spec,
            components=blind.components,
        )
    except scrap.Wrong as wrong:
        problems += wrong.problems
    if problems:
        raise scrap.Wrong(problems)
    found = {"back_to": back_to, "fault": fault, "note": str(data.get("note", ""))[:300], "scrapped": scrapped}
    if beside := scrap.beside(scrapped, back_to=back_to):
        found["beside"] = beside
    if scrap.needs_label(scrapped):
        found["remake"] = _next_remake(blind)
    return found


def _next_remake(blind):
    if blind.remake >= codes.LARGEST_REMAKE:
        raise scrap.Wrong(
            [
                _(
                    "The papers of {number} were made anew {remakes} times, and a label counts no further. "
                    "Enter a new order for it.",
                    number=blind.number,
                    remakes=blind.remake,
                )
            ]
        )
    return blind.remake + 1


def told_to_sales(*, order, event):
    """The order's promise is to be looked at again, and an order that was ready is at work again."""
    if order.state == Order.READY:
        intake.take_back_to_work(order=order, by=event.person, at=event.at)
    intake.doubt_promise(order=order, because=_because(event), at=event.at)


def _because(event):
    """What happened, in English, since the office reads it."""
    found_at = route.STATION[event.station].english.lower()
    back_to = listed(route.STATION[key].english.lower() for key in event.back_to)
    fault = FaultKind.objects.words()[event.data["fault"]].lower()
    anew = ", its rail is made anew" if "remake" in event.data else ""
    return f"{event.blind.number} was sent back from {found_at} to {back_to}: {fault}{anew}"
