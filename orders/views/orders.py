"""The list of orders: search, filter by state, fifty a page."""

from django.core.paginator import Paginator
from django.shortcuts import render
from django.utils import timezone

from orders.models import Order
from orders.roles import MANAGER, SALES, role_required

PAGE_SIZE = 50
OPEN, ALL = "open", "all"


@role_required(SALES, MANAGER)
def orders(request):
    text = request.GET.get("q", "").strip()[:80]
    state = request.GET.get("state", ALL if text else OPEN)
    found = Order.objects.found_by(text) if text else Order.objects.all()
    filters = state_filters(counts=found.counted_by_state())
    state = state if state in {each["state"] for each in filters} else OPEN
    shown = {OPEN: found.open, ALL: found.all}.get(state, lambda: found.in_state(state))()
    page = Paginator(shown.with_customer().open_first(), PAGE_SIZE).get_page(request.GET.get("page"))
    context = {"page": page, "text": text, "state": state, "filters": filters, "today": timezone.localdate()}
    return render(request, "orders.html", context)


def state_filters(*, counts):
    """The links over the list: each state in words with how many orders it has."""
    named = [(OPEN, "Open", sum(counts.get(state, 0) for state in Order.OPEN))]
    named += [(state, words, counts.get(state, 0)) for state, words in Order.STATES]
    named.append((ALL, "All", sum(counts.values())))
    return [{"state": state, "words": words, "count": count} for state, words, count in named]
