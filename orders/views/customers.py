"""Customers: the list, one customer with their orders, and the few to choose from while an order is opened."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from orders import intake
from orders.forms import CustomerForm
from orders.models import Customer, Order
from orders.roles import MANAGER, SALES, role_required

PAGE_SIZE = 50
MOST_TO_CHOOSE_FROM = 8


def found_customers(text):
    found = Customer.objects.found_by(text) if text else Customer.objects.all()
    return found.by_name()


@role_required(SALES, MANAGER)
def customers(request):
    text = request.GET.get("q", "").strip()[:80]
    page = Paginator(found_customers(text).with_open_orders(), PAGE_SIZE).get_page(request.GET.get("page"))
    return render(request, "customers.html", {"page": page, "text": text})


@role_required(SALES, MANAGER)
def customer(request, pk):
    found = get_object_or_404(Customer, pk=pk)
    shown = Order.objects.of_customer(found).with_customer().open_first()
    page = Paginator(shown, PAGE_SIZE).get_page(request.GET.get("page"))
    return render(request, "customer.html", {"customer": found, "page": page, "today": timezone.localdate()})


@role_required(SALES, MANAGER)
def customer_new(request):
    form = CustomerForm(request.POST or None)
    if form.is_valid():
        made = intake.add_customer(**form.cleaned_data)
        messages.success(request, f"{made} is entered.")
        return redirect("customer", made.pk)
    return customer_form(request, form)


@role_required(SALES, MANAGER)
def customer_edit(request, pk):
    found = get_object_or_404(Customer, pk=pk)
    form = CustomerForm(request.POST or None, instance=found)
    if form.is_valid():
        intake.change_customer(customer=found, **form.cleaned_data)
        messages.success(request, f"{found} is changed.")
        return redirect("customer", pk)
    return customer_form(request, form, customer=get_object_or_404(Customer, pk=pk))


def customer_form(request, form, *, customer=None):
    back = reverse("customer", args=[customer.pk]) if customer else reverse("customers")
    context = {"form": form, "customer": customer, "back": back}
    return render(request, "customer_form.html", context, status=422 if form.is_bound else 200)


def choosable(*, text, chosen):
    """The customers to choose from: those that match what was typed, after the one that is chosen already."""
    text = text.strip()[:80]
    found = list(found_customers(text)[: MOST_TO_CHOOSE_FROM + 1]) if text else []
    kept = Customer.objects.keyed(chosen or "")
    listed = ([kept] if kept else []) + [each for each in found[:MOST_TO_CHOOSE_FROM] if each != kept]
    return {"customers": listed, "chosen": kept, "more": len(found) > MOST_TO_CHOOSE_FROM, "searched": bool(text)}


@role_required(SALES, MANAGER)
def customers_found(request):
    """The customers to choose from, as the order's form asks for them while someone types."""
    chosen = request.GET.get("customer", "")
    choices = choosable(text=request.GET.get("customer_text", ""), chosen=chosen)
    return render(request, "_customer_choices.html", {"choices": choices, "chosen": chosen})
