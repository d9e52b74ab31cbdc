"""The list of orders: filtered by state, fifty a page. It keeps itself up to date."""

import hashlib
from operator import attrgetter

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.cache import add_never_cache_headers

from orders.models import Order
from orders.roles import MANAGER, SALES, role_required

PAGE_SIZE = 50
OPEN, ALL, DOUBTED = "open", "all", "doubted"


@role_required(SALES, MANAGER)
def orders(request):
    state = request.GET.get("state", OPEN)
    found = Order.objects.all()
    filters = state_filters(counts=found.counted_by_state(), doubted=found.promise_doubted().count())
    state = state if state in {each["state"] for each in filters} else OPEN
    shown = {OPEN: found.open, ALL: found.all, DOUBTED: found.promise_doubted}
    shown = shown.get(state, lambda: found.in_state(state))().with_customer()
    ordered = shown if state == DOUBTED else shown.open_first()
    page = Paginator(ordered, PAGE_SIZE).get_page(request.GET.get("page"))
    context = {"page": page, "state": state, "filters": filters, "today": timezone.localdate()}
    seen = fingerprint(context)
    if not request.htmx:
        return render(request, "orders.html", context | {"seen": seen})
    unchanged = request.headers.get("X-Seen") == seen
    answer = HttpResponse(status=204) if unchanged else render(request, "_orders.html", context | {"seen": seen})
    # It has the page's own address: what the browser goes back to must be the page.
    add_never_cache_headers(answer)
    return answer


def fingerprint(context):
    """Changes whenever anything that the list shows has changed."""
    fields = ("number", "customer.name", "reference", "blind_total", "due_on", "rush", "state", "promise_doubt")
    rows = [attrgetter(*fields)(order) for order in context["page"]]
    shown = (context["page"].paginator.count, rows, context["filters"], context["today"])
    return hashlib.blake2b(repr(shown).encode(), digest_size=8).hexdigest()


def state_filters(*, counts, doubted):
    """The links over the list: each state in words with how many orders it has, promises to look at first."""
    named = [(OPEN, "Open", sum(counts.get(state, 0) for state in Order.OPEN))]
    named += [(DOUBTED, "Promise to look at", doubted)] if doubted else []
    named += [(state, words, counts.get(state, 0)) for state, words in Order.STATES]
    named.append((ALL, "All", sum(counts.values())))
    return [{"state": state, "words": words, "count": count} for state, words, count in named]
