"""Tickets and labels to print: of one blind, or of a whole order."""

from functools import wraps

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from orders.models import Order
from orders.roles import CHECKER, MAKER, MANAGER, SALES, role_required
from orders.views import works
from production import labels, printing
from production.models import Blind

from .blind import find_blind


def prints(*, bench=False):
    """For whoever sells, makes, checks or manages; what there is nothing to print of is said, not only missing.

    `bench`: whether a maker prints it at a station, as the papers of a rail that is made anew.
    """

    def guard(view):
        @role_required(SALES, MAKER, CHECKER, MANAGER, bench=bench)
        @require_safe
        @never_cache
        @wraps(view)
        def printing(request, *args, **kwargs):
            try:
                return view(request, *args, **kwargs)
            except Http404 as missing:
                return render(request, "404.html", {"said": missing}, status=404)

        return printing

    return guard


@prints(bench=True)
def ticket(request, code):
    return of_blind(code, print_pdf=labels.ticket_pdf, name="ticket")


@prints(bench=True)
def rail_label(request, code):
    return of_blind(code, print_pdf=labels.rail_labels_pdf, name="rail-label")


@prints(bench=True)
def pack_label(request, code):
    return of_blind(code, print_pdf=labels.pack_labels_pdf, name="pack-label")


@prints()
def order_tickets(request, number):
    return _of_order(request, number, kind="tickets")


@prints()
def order_labels(request, number):
    return _of_order(request, number, kind="labels")


def of_blind(code, *, print_pdf, name):
    blind = find_blind(code)
    pdf = print_pdf(blinds=Blind.objects.only_this(blind), at=timezone.now())
    return pdf_answer(pdf, filename=f"{name}-{blind.number}.pdf")


def _of_order(request, number, *, kind):
    """The papers of an order's blinds: at once where they are few, and else outside this request."""
    try:
        order = Order.objects.get(number=number)
    except Order.DoesNotExist:
        raise Http404(f"There is no order {number:04d}. Look for it by its customer.") from None
    many = Blind.objects.of_order(order).not_taken_off().count()
    if not many:
        raise Http404(f"{order} has no blinds to print: {_why_none(order)}")
    if many > printing.AT_ONCE[kind]:
        return works.on_the_way(request, printing.begin(order=order, kind=kind, many=many, by=request.user))
    pdf, name = printing.papers_of(order=order, kind=kind)
    return pdf_answer(pdf, filename=name)


def _why_none(order):
    if Blind.objects.of_order(order).exists():
        return "every one was taken off."
    return "it is not released yet. Release it first."


def pdf_answer(pdf, *, filename, saved=False):
    """The paper, shown by the browser, or `saved` by it beside the page that stays."""
    shown = "attachment" if saved else "inline"
    return HttpResponse(
        pdf, content_type="application/pdf", headers={"Content-Disposition": f'{shown}; filename="{filename}"'}
    )
