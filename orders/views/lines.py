"""The form of one line, and taking a line off its order."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from orders import entry, intake, once
from orders.forms import LineForm
from orders.lines import current_revisions, figured_line, line_field, position_in
from orders.models import OrderLine
from orders.roles import MANAGER, SALES, role_required
from orders.usual import usual_of
from orders.views.order import find_order


def find_line(order, position):
    return get_object_or_404(order.lines.in_order(), position=position)


@role_required(SALES, MANAGER)
def line_new(request, number):
    order = find_order(number)
    repeat = position_in(request.GET.get("repeat", ""))
    if repeat is not None:
        blank = repeated(find_line(order, repeat))
    else:
        usual = usual_of(order)
        # Size basis and hand are left open, since a guess there is the costliest mistake.
        return line_page(request, order, OrderLine(order=order, **usual.choices), usual=usual)
    return line_page(request, order, blank)


def repeated(line):
    """A new line with every choice of `line` but its room."""
    line.pk = line.position = None
    line._state.adding = True
    line.room = ""
    return line


@role_required(SALES, MANAGER)
def line(request, number, position):
    order = find_order(number)
    return line_page(request, order, find_line(order, position))


def line_page(request, order, line, *, usual=None):
    """Show the form of `line`, or save it; whatever stands in the way comes back with all that was typed."""
    if not order.editable:
        messages.info(request, f"{order} is {order.get_state_display().lower()}, so its lines stay as they are.")
        return redirect(order)
    is_new = line.position is None
    seen = "" if is_new else entry.seen_of([line])
    sent = request.POST.get("seen", "")
    form = LineForm(request.POST or None, instance=line)
    problems = []
    if form.is_valid():
        try:
            position = entry.save_line(
                order=order, line=form.instance, seen=sent, key=once.key_of(request.POST), at=timezone.now()
            )
        except intake.Refused as refused:
            # What it refuses is said as the line stands now: what is sent next has seen that.
            sent = seen
            problems = with_fields(refused.problems, line=form.instance, market=order.market)
        else:
            read = "".join(f" {label}: {reading}." for _, label, reading in form.readings())
            messages.success(request, f"Line {position} is {'added' if is_new else 'changed'}.{read}")
            if request.POST.get("then") == "repeat":
                return redirect(f"{reverse('line-new', args=[order.number])}?repeat={position}")
            return redirect(order)
    context = {
        "order": order,
        "form": form,
        "is_new": is_new,
        "position": line.position,
        "problems": problems,
        "usual": usual,
        "seen": sent or seen,
        "form_id": once.read_key(request.POST.get("form_id")) or once.new_key(),
    }
    return render(request, "line_form.html", context, status=422 if form.is_bound else 200)


def with_fields(problems, *, line, market):
    """Each problem with the field of the form that it is about, where it is about one."""
    revision = current_revisions().get(line.system_id)
    figured = figured_line(line=line, market=market, system=revision.as_system() if revision else None)
    fields = {found["message"]: line_field(found) for found in figured.refusals}
    return [{"message": problem, "field": fields.get(problem, "")} for problem in problems]


@role_required(SALES, MANAGER)
def line_remove(request, number, position):
    order = find_order(number)
    if request.method != "POST":
        found = find_line(order, position)
        return render(request, "line_remove.html", {"order": order, "line": found, "seen": entry.seen_of([found])})
    try:
        removed = entry.remove_line(order=order, position=position, seen=request.POST.get("seen", ""))
    except intake.Refused as refused:
        messages.info(request, " ".join(refused.problems))
    else:
        messages.success(request, f"Line {position} is off {order}{'' if removed else ' already'}.")
    return redirect(order)
