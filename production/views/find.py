"""The one search box of the office: whatever an order, its customer or a blind is called leads to where it is."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.http import urlencode

from orders.roles import MANAGER, SALES, role_required
from production import finding

LONGEST = 80


@role_required(SALES, MANAGER)
def find(request):
    """One hit opens, several are listed; `all` lists all orders with what was typed, older ones and what else a number
    is in. A scanner sends `code`."""
    text = (request.GET.get("q") or request.GET.get("code") or "").strip()[:LONGEST]
    if not text:
        return redirect("orders")
    every = "all" in request.GET
    if not every and (opened := finding.opened(text)):
        return open_it(request, opened, text)
    page = page_number(request)
    found = finding.listed(text, page=page, at=timezone.now(), every=every)
    if not every and (alone := finding.only(found, page=page)):
        return redirect(alone)
    context = {"found": found, "sought": text, "page": page, "today": timezone.localdate()}
    answer = render(request, "find.html", context)
    answer.found = finding.told(text, found)
    return answer


def open_it(request, opened, text):
    if opened.said:
        messages.warning(request, opened.said)
    if opened.others:
        others = f"{reverse('find')}?{urlencode({'q': text, 'all': 1})}"
        messages.info(request, format_html('“{}” is in other orders too: <a href="{}">list them</a>.', text, others))
    return redirect(opened.it)


def page_number(request):
    asked = request.GET.get("page", "")
    return max(int(asked), 1) if asked.isascii() and asked.isdecimal() and len(asked) < 5 else 1
