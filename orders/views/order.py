"""One order: its page, its head, and the steps that the office takes it through."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders import calendar, entry, intake, once, promise
from orders.forms import CustomerForm, OrderForm
from orders.lines import figured, totals
from orders.models import Order, PostedOrder
from orders.questions import asked
from orders.roles import MANAGER, SALES, role_required
from orders.views.customers import choosable


def find_order(number):
    return get_object_or_404(Order.objects.with_customer(), number=number)


@role_required(SALES, MANAGER)
def order(request, number):
    return order_page(request, find_order(number))


def order_page(request, found, *, problems=(), promised="", status=200):
    """The order's page; after a refusal with what stands in the way, and the day that was to be promised."""
    at_work = found.state in (Order.RELEASED, Order.READY, Order.COLLECTED, Order.DELIVERED)
    # Once released, the blinds' own frozen figures count; what their lines would come to today does not.
    lines = [] if at_work else figured(order=found)
    context = {
        "order": found,
        "lines": lines,
        "totals": totals(lines),
        "questions": asked(order=found, lines=[each.line for each in lines]) if found.editable else [],
        "problems": problems,
        "today": timezone.localdate(),
        "at_work": at_work,
        "promise_looks": found.promise_looks.with_person(),
        "steps": found.steps.in_order(),
        "posted_with": PostedOrder.objects.key_name(found),
        "promised": promised,
    }
    return render(request, "order.html", context, status=status)


@role_required(SALES, MANAGER)
def order_new(request):
    today = timezone.localdate()
    usual = {
        "due_on": promise.usual_day(today=today, calendar=calendar.read()),
        "customer": request.GET.get("customer", ""),
    }
    key = once.key_of(request.POST)
    if before := once.taken(key):
        messages.info(request, f"{before.order} is opened already; nothing was done twice.")
        return redirect(before.order)
    form, new_customer = head_forms(request, usual, today=today)
    customer = chosen_customer(form, new_customer)
    if customer is None:
        return head_page(request, form, new_customer)
    made = entry.open_order(key=key, by=request.user, at=timezone.now(), **form.head(customer=customer))
    messages.success(request, f"{made} is opened for {customer}. Add its first line.")
    return redirect(made)


@role_required(SALES, MANAGER)
def order_edit(request, number):
    found = find_order(number)
    if not found.editable:
        messages.info(request, f"{found} is {found.get_state_display().lower()}, so its head stays as it is.")
        return redirect(found)
    form, new_customer = head_forms(request, {}, today=timezone.localdate(), instance=found)
    customer = chosen_customer(form, new_customer)
    if customer is None:
        return head_page(request, form, new_customer, order=found)
    # Read again, so that what was typed reaches the row through intake alone.
    stored, seen = find_order(number), request.POST.get("seen", "")
    try:
        entry.change_order(
            order=stored, seen=seen, key=once.key_of(request.POST), at=timezone.now(), **form.head(customer=customer)
        )
    except intake.Refused as refused:
        found = find_order(number)
        if not found.editable:
            return order_page(request, found, problems=refused.problems, status=409)
        return head_page(
            request, form, new_customer, order=found, seen=entry.head_seen(found), problems=refused.problems
        )
    messages.success(request, f"The head of {found} is changed.")
    return redirect(found)


def head_forms(request, usual, **options):
    """The form of the head and the form of a new customer. While a customer is being found, nothing is judged yet."""
    typed = request.POST.dict()
    if "find" in request.POST or not typed:
        new = {name.removeprefix("new-"): value for name, value in typed.items() if name.startswith("new-")}
        return OrderForm(initial=usual | typed, **options), CustomerForm(initial=new, prefix="new")
    form = OrderForm(request.POST, **options)
    return form, CustomerForm(request.POST if form.wants_new_customer else None, prefix="new")


def chosen_customer(form, new_customer):
    """The customer chosen, or a new one to be entered with the order, once both forms are right; else None."""
    good = [each.is_valid() for each in (form, new_customer) if each.is_bound]
    if not good or not all(good):
        return None
    return new_customer.instance if new_customer.is_bound else form.cleaned_data["customer"]


def head_page(request, form, new_customer, *, order=None, seen="", problems=()):
    text = request.POST.get("customer_text", "")
    context = {
        "form": form,
        "new_customer": new_customer,
        "order": order,
        "seen": seen or request.POST.get("seen") or (order and entry.head_seen(order)),
        "problems": [{"message": each} for each in problems],
        "customer_text": text,
        "chosen": form["customer"].value(),
        "form_id": once.read_key(request.POST.get("form_id")) or once.new_key(),
        "choices": choosable(text=text, chosen=form["customer"].value()),
    }
    return render(request, "order_form.html", context, status=422 if form.is_bound else 200)


def step(request, number, write, *, to, done):
    """Take an order one step on and go back to its page; a step that was taken already is answered calmly."""
    found = find_order(number)
    try:
        write(order=found, by=request.user, at=timezone.now())
    except intake.Refused as refused:
        if found.state != to:
            return order_page(request, found, problems=refused.problems, status=409)
        done = f"is {found.get_state_display().lower()} already; nothing was done twice."
    messages.success(request, f"{found} {done}")
    return redirect(found)


@role_required(SALES, MANAGER)
@require_POST
def order_back_to_draft(request, number):
    done = "is a draft again. Change it, and confirm it once the customer has agreed."
    return step(request, number, intake.take_back_to_draft, to=Order.DRAFT, done=done)


@role_required(SALES, MANAGER)
@require_POST
def order_collected(request, number):
    return step(request, number, intake.mark_collected, to=Order.COLLECTED, done="is collected.")


@role_required(SALES, MANAGER)
@require_POST
def order_delivered(request, number):
    return step(request, number, intake.mark_delivered, to=Order.DELIVERED, done="is delivered.")


@role_required(SALES, MANAGER)
def order_cancel(request, number):
    if request.method == "POST":
        return step(request, number, intake.cancel, to=Order.CANCELLED, done="is cancelled.")
    return render(request, "order_cancel.html", {"order": find_order(number)})
