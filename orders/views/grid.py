"""All lines of an order typed in a grid, what follows from them as one types, and the answer to a question."""

import json

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from orders import entry, intake, once
from orders.grid import FIRST_ROWS, MORE_ROWS, MOST_ROWS, Grid
from orders.grid_row import COLUMNS
from orders.lines import position_in
from orders.roles import MANAGER, SALES, role_required
from orders.row_form import RowForm, words_of_columns
from orders.usual import rooms_for
from orders.views.order import find_order, order_page


@role_required(SALES, MANAGER)
def lines(request, number):
    order = find_order(number)
    if not order.editable:
        messages.info(request, f"{order} is {order.get_state_display().lower()}, so its lines stay as they are.")
        return redirect(order)
    if order.lines.count() > MOST_ROWS:
        messages.info(request, f"{order} has more lines than a grid holds, {MOST_ROWS}. Change them one by one.")
        return redirect(order)
    if request.method != "POST":
        return grid_page(request, Grid(order, blank_rows=MORE_ROWS if order.lines.exists() else FIRST_ROWS))
    if "more" in request.POST:
        return grid_page(request, Grid(order, sent=request.POST, blank_rows=FIRST_ROWS))
    return save(request, order, Grid(order, sent=request.POST))


def save(request, order, grid):
    """Write every row or none; whatever stands in the way comes back with all that was typed."""
    if grid.problems:
        return grid_page(request, grid, problems=grid.problems, status=422)
    written, taken_off = grid.written, grid.taken_off
    added = sum(line.pk is None for line in written)
    try:
        is_new = entry.save_lines(
            order=order,
            lines=written,
            gone=taken_off,
            seen=request.POST.get("seen", ""),
            answers=grid.answers,
            key=once.key_of(request.POST),
            by=request.user,
            at=timezone.now(),
        )
    except intake.Refused as refused:
        problems = [{"message": each} for each in refused.problems]
        grid = Grid(order, sent=request.POST)
        return grid_page(request, grid, seen=grid.seen, problems=problems, status=409)
    counted = ((added, "added"), (len(written) - added, "changed"), (len(taken_off), "taken off"))
    said = [f"{count} line{'' if count == 1 else 's'} {done}" for count, done in counted if count]
    messages.success(
        request, f"{order}: {', '.join(said) or 'nothing to change'}." if is_new else f"{order} is saved already."
    )
    return redirect(order)


def grid_page(request, grid, *, seen="", problems=(), status=200):
    """The grid; `seen` is the print of the lines where all that another desk changed stands in it, else as before."""
    context = {
        "order": grid.order,
        "grid": grid,
        "seen": seen or request.POST.get("seen") or grid.seen,
        "problems": problems,
        "columns": [{"name": name, "label": RowForm.base_fields[name].label} for name in COLUMNS],
        "most_rows": MOST_ROWS,
        "words": json.dumps(words_of_columns()),
        "rooms": rooms_for(grid.order),
        "form_id": once.read_key(request.POST.get("form_id")) or once.new_key(),
    }
    return render(request, "lines.html", context, status=status)


@role_required(SALES, MANAGER)
@require_POST
def lines_figures(request, number):
    """What follows from the rows as they stand; an unfinished row is no mistake."""
    return render(request, "_grid_said.html", {"grid": Grid(find_order(number), sent=request.POST), "apart": True})


@role_required(SALES, MANAGER)
@require_POST
def order_right(request, number):
    """'It is right': the answer to a question about a line or the order."""
    order = find_order(number)
    try:
        entry.answer(
            order=order,
            position=position_in(request.POST.get("position", "")),
            code=request.POST.get("code", ""),
            figures=request.POST.get("figures", ""),
            by=request.user,
            at=timezone.now(),
        )
    except intake.Refused as refused:
        return order_page(request, find_order(number), problems=refused.problems, status=409)
    messages.success(request, "It stays as it is. The answer is kept with the order.")
    return redirect(order)
