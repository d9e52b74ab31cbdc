"""The list of orders: search, filter by state, fifty a page."""

from django.core.paginator import Paginator
from django.shortcuts import render
from django.utils import timezone

from orders.models import Order
from orders.roles import MANAGER, SALES, role_required

PAGE_SIZE = 50
OPEN, ALL, DOUBTED = "open", "all", "doubted"


@role_required(SALES, MANAGER)
def orders(request):
    text = request.GET.get("q", "").strip()[:80]
    state = request.GET.get("state", ALL if text else OPEN)
    found = Order.objects.found_by(text) if text else Order.objects.all()
    filters = state_filters(counts=found.counted_by_state(), doubted=found.promise_doubted().count())
    state = state if state in {each["state"] for each in filters} else OPEN
    shown = {OPEN: found.open, ALL: found.all, DOUBTED: found.promise_doubted}
    shown = shown.get(state, lambda: found.in_state(state))().with_customer()
    ordered = shown if state == DOUBTED else shown.open_first()
    page = Paginator(ordered, PAGE_SIZE).get_page(request.GET.get("page"))
    context = {"page": page, "text": text, "state": state, "filters": filters, "today": timezone.localdate()}
    return render(request, "orders.html", context)


def state_filters(*, counts, doubted):
    """The links over the list: each state in words with how many orders it has, promises to look at first."""
    named = [(OPEN, "Open", sum(counts.get(state, 0) for state in Order.OPEN))]
    named += [(DOUBTED, "Promise to look at", doubted)] if doubted else []
    named += [(state, words, counts.get(state, 0)) for state, words in Order.STATES]
    named.append((ALL, "All", sum(counts.values())))
    return [{"state": state, "words": words, "count": count} for state, words, count in named]
