"""Tickets and labels to print: of one blind, or of a whole order."""

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from orders.models import Order
from orders.roles import CHECKER, MAKER, MANAGER, SALES, role_required
from production import labels
from production.models import Blind

from .blind import find_blind

may_print = role_required(SALES, MAKER, CHECKER, MANAGER)


@may_print
@require_safe
@never_cache
def ticket(request, code):
    return _of_blind(code, print_pdf=labels.ticket_pdf, name="ticket")


@may_print
@require_safe
@never_cache
def rail_label(request, code):
    return _of_blind(code, print_pdf=labels.rail_labels_pdf, name="rail-label")


@may_print
@require_safe
@never_cache
def pack_label(request, code):
    return _of_blind(code, print_pdf=labels.pack_labels_pdf, name="pack-label")


@may_print
@require_safe
@never_cache
def order_tickets(request, number):
    return _of_order(number, print_pdf=labels.ticket_pdf, name="tickets")


@may_print
@require_safe
@never_cache
def order_labels(request, number):
    return _of_order(number, print_pdf=labels.labels_pdf, name="labels")


def _of_blind(code, *, print_pdf, name):
    blind = find_blind(code)
    pdf = print_pdf(blinds=Blind.objects.only_this(blind), at=timezone.now())
    return _answer(pdf, filename=f"{name}-{blind.number}.pdf")


def _of_order(number, *, print_pdf, name):
    order = get_object_or_404(Order, number=number)
    blinds = Blind.objects.of_order(order)
    if not blinds.exists():
        raise Http404(f"{order} has no blinds to print: it is not released yet. Release it first.")
    return _answer(print_pdf(blinds=blinds, at=timezone.now()), filename=f"{name}-{order.number:04d}.pdf")


def _answer(pdf, *, filename):
    return HttpResponse(
        pdf, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{filename}"'}
    )
