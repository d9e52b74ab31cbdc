"""Changes of an order at work: sales ask for them, the workshop's manager accepts or refuses each one."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders.forms import LineForm
from orders.models import HardwareSystem, Order, OrderLine
from orders.roles import MANAGER, SALES, role_required
from orders.usual import USUAL
from orders.views.lines import find_line, with_fields
from orders.views.order import find_order
from production import amend, amend_outlook, amend_words
from production.amend_forms import BecauseForm, HeadChangeForm
from production.models import Amendment

from .promise_day import unbroken


@role_required(SALES, MANAGER)
def changes(request):
    """Every change that is asked for and not decided, the oldest first."""
    asked = _with_outlook(amend_words.told(Amendment.objects.open().with_people().oldest_first()))
    return render(request, "changes.html", {"asked": asked, "may_decide": request.user.holds(MANAGER)})


def _with_outlook(told):
    """Each change that is told of, with what accepting it would do to promises, where that can be said."""
    found = amend_outlook.outlooks([each["plan"] for each in told], at=timezone.now())
    for each in told:
        key = each["amendment"].pk
        each.update(foreseen=key in found, outlook=found.get(key))
    return told


@role_required(SALES, MANAGER)
def order_changes(request, number):
    return order_page(request, find_order(number))


def order_page(request, order, *, problems=(), typed=None, status=200):
    """The changes of one order, and the ways to ask for another; after a refusal with what stands in the way."""
    told = _with_outlook(amend_words.told(Amendment.objects.of_order(order).with_people()))
    context = {
        "order": order,
        "asked": [each for each in told if each["amendment"].is_open],
        "decided": [each for each in told if not each["amendment"].is_open],
        "lines": amend_words.lines_to_ask(order),
        "may_ask": order.state == Order.RELEASED,
        "may_decide": request.user.holds(MANAGER),
        "problems": problems,
        "typed": typed or {},
    }
    return render(request, "order_changes.html", context, status=status)


@role_required(SALES, MANAGER)
def change_line(request, number, position):
    """Ask that blinds of one line become otherwise; only those ticked."""
    order = find_order(number)
    line = find_line(order, position)
    found = next((each for each in amend_words.lines_to_ask(order) if each["line"].pk == line.pk), None)
    if order.state != Order.RELEASED or found is None:
        messages.info(request, f"No blind of {line} can be changed any more. Enter a new order for it.")
        return redirect("order-changes", number)
    chosen = request.POST.getlist("blinds") if request.POST else [blind.code for blind in found["blinds"]]

    def ask(wanted, because):
        given = {"codes_of_blinds": chosen, "line": wanted, "because": because}
        return amend.ask_change(order=order, by=request.user, at=timezone.now(), **given)

    more = {"line": line, "blinds": found["blinds"], "chosen": chosen}
    return _line_page(request, order, line, ask=ask, count=max(1, len(chosen)), **more)


@role_required(SALES, MANAGER)
def change_add(request, number):
    """Ask for another line."""
    order = find_order(number)
    if order.state != Order.RELEASED:
        return redirect("order-changes", number)
    blank = OrderLine(order=order, system=HardwareSystem.objects.first_choice(), **USUAL)

    def ask(wanted, because):
        return amend.ask_line(order=order, line=wanted, because=because, by=request.user, at=timezone.now())

    return _line_page(request, order, blank, ask=ask)


def _line_page(request, order, instance, *, ask, count=None, **more):
    """The form of what is wanted; whatever stands in the way comes back with all that was typed."""
    posted = request.POST.copy() if request.method == "POST" else None
    if posted is not None and count:
        posted["quantity"] = count
    form, why = LineForm(posted, instance=instance, begins=False), BecauseForm(posted)
    problems = []
    if posted is not None and all([form.is_valid(), why.is_valid()]):
        try:
            ask(form.instance, why.cleaned_data["because"])
        except amend.Refused as refused:
            problems = with_fields(refused.problems, line=form.instance, market=order.market)
        else:
            return _asked(request, order)
    context = {"order": order, "form": form, "why": why, "problems": problems, **more}
    return render(request, "change_line.html", context, status=422 if posted is not None else 200)


def _asked(request, order):
    messages.success(request, "The change is asked for. The workshop sees it now, and the manager decides.")
    return redirect("order-changes", order.number)


@role_required(SALES, MANAGER)
def change_take_off(request, number):
    """Ask that the blinds ticked are not made; all of them, and the order is cancelled."""
    order = find_order(number)
    if order.state != Order.RELEASED:
        return redirect("order-changes", number)
    why, problems, chosen = BecauseForm(request.POST or None), [], request.POST.getlist("blinds")
    if why.is_valid():
        try:
            amend.ask_take_off(
                order=order,
                codes_of_blinds=chosen,
                because=why.cleaned_data["because"],
                by=request.user,
                at=timezone.now(),
            )
        except amend.Refused as refused:
            problems = [{"message": problem} for problem in refused.problems]
        else:
            return _asked(request, order)
    context = {"order": order, "form": why, "problems": problems, "chosen": chosen}
    context["lines"] = amend_words.lines_to_ask(order)
    return render(request, "change_take_off.html", context, status=422 if why.is_bound else 200)


@role_required(SALES, MANAGER)
def change_head(request, number):
    """Ask for another promised day or note."""
    order = find_order(number)
    if order.state != Order.RELEASED:
        return redirect("order-changes", number)
    form = HeadChangeForm(request.POST or None, instance=find_order(number), today=timezone.localdate())
    why, problems = BecauseForm(request.POST or None), []
    if form.is_bound and all([form.is_valid(), why.is_valid()]):
        wanted = {name: form.cleaned_data[name] for name in ("due_on", "note")}
        try:
            amend.ask_head(
                order=order, because=why.cleaned_data["because"], by=request.user, at=timezone.now(), **wanted
            )
        except amend.Refused as refused:
            problems = [{"message": problem} for problem in refused.problems]
        else:
            return _asked(request, order)
    context = {"order": order, "form": form, "why": why, "problems": problems}
    return render(request, "change_head.html", context, status=422 if form.is_bound else 200)


def _decide(request, number, pk, write, *, done, **given):
    """Decide about one change, and go back to the order's changes; what stands in the way is said there."""
    amendment = get_object_or_404(Amendment, pk=pk, order__number=number)
    try:
        write(amendment=amendment, by=request.user, at=timezone.now(), **given)
    except amend.Refused as refused:
        typed = {"about": pk, "reason": request.POST.get("reason", "")}
        return order_page(request, find_order(number), problems=refused.problems, typed=typed, status=409)
    messages.success(request, done)
    return redirect("order-changes", number)


@unbroken(MANAGER)
@require_POST
def change_accept(request, number, pk):
    given = {"seen": request.POST.get("seen", ""), "reason": request.POST.get("reason", "")}
    return _decide(request, number, pk, amend.accept, done="The change is accepted.", **given)


@role_required(MANAGER)
@require_POST
def change_refuse(request, number, pk):
    done = "The change is refused. The blinds are made as they were ordered."
    return _decide(request, number, pk, amend.refuse, done=done, reason=request.POST.get("reason", ""))


@role_required(SALES, MANAGER)
@require_POST
def change_withdraw(request, number, pk):
    return _decide(request, number, pk, amend.withdraw, done="What was asked for is taken back.")
