"""Customers' files: choosing one, looking at what it would make, and taking it in; and the same form written out."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from orders import calendar, intake, promise
from orders.file_forms import FileForm, ReadingForm, initial_of, shown_choices
from orders.importing import sound, taking, writing
from orders.importing.limits import AT_ONCE
from orders.importing.tables import Unreadable
from orders.models import Customer, CustomersFile, Fabric, HardwareSystem, OrderLine
from orders.roles import MANAGER, SALES, role_required
from orders.views import works
from orders.views.order import find_order

TEXT = "text/csv; charset=utf-8"
SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@role_required(SALES, MANAGER)
def files(request, pk):
    """A customer's files: those that wait, those taken in last, and the way to choose another."""
    found = get_object_or_404(Customer, pk=pk)
    form = FileForm(request.POST, request.FILES) if request.method == "POST" else FileForm()
    if form.is_valid():
        given = form.cleaned_data["file"]
        try:
            kept = taking.keep(
                customer=found, name=given.name, content=given.read(), by=request.user, at=timezone.now()
            )
        except Unreadable as bad:
            form.add_error("file", f"{given.name}: {bad}")
        else:
            return redirect(kept)
    of_customer = CustomersFile.objects.of_customer(found)
    context = {"customer": found, "form": form, "waiting": of_customer.waiting(), "taken": of_customer.taken_last()}
    return render(request, "files.html", context, status=422 if form.is_bound else 200)


@role_required(SALES, MANAGER)
def file(request, pk):
    found = get_object_or_404(CustomersFile.objects.select_related("customer"), pk=pk)
    if found.taken_at:
        return taken(request, found)
    if request.method == "POST" and request.POST.get("then") == "forget":
        taking.forget(file=found)
        messages.success(request, f"{found} is put away. Nothing was taken in.")
        return redirect("files", found.customer_id)
    today = timezone.localdate()
    layout = taking.laid_out(found)
    shown = shown_choices(layout, found.choices, due_on=promise.usual_day(today=today, calendar=calendar.read()))
    if request.method != "POST":
        form = ReadingForm(initial=initial_of(shown), layout=layout, today=today)
        return file_page(request, found, form)
    form = ReadingForm(request.POST, layout=layout, today=today)
    if not form.is_valid():
        return file_page(request, found, form, status=422)
    chosen = form.choices()
    if request.POST.get("then") == "take" and chosen | {"due_on": ""} == shown | {"due_on": ""}:
        return take(request, found, form)
    taking.choose(file=found, choices=chosen)
    if request.POST.get("then") == "take":
        messages.info(request, "Nothing is taken in yet: look at the rows as they are read now.")
    return redirect(found)


def take(request, found, form):
    if len(form.layout.rows) > AT_ONCE:
        begun = taking.begin_taking_in(
            file=found,
            due_on=form.cleaned_data["due_on"],
            by=request.user,
            today=timezone.localdate(),
            again=form.cleaned_data["again"],
            sound=sound.heard(request.POST.get("sound", "")),
            rows=len(form.layout.rows),
        )
        return works.on_the_way(request, begun)
    try:
        taking.take_in(
            file=found,
            due_on=form.cleaned_data["due_on"],
            by=request.user,
            at=timezone.now(),
            today=timezone.localdate(),
            again=form.cleaned_data["again"],
            sound=sound.heard(request.POST.get("sound", "")),
        )
    except intake.Refused as refused:
        return file_page(request, found, form, problems=refused.problems, status=409)
    return taken(request, CustomersFile.objects.select_related("customer").get(pk=found.pk))


def file_page(request, found, form, *, problems=(), status=200):
    mark = taking.marked(found, today=form.today)
    preview = taking.looked_at(found, layout=form.layout, today=form.today)
    context = {
        "file": found,
        "form": form,
        "preview": preview,
        "rows": preview.rows if request.GET.get("rows") == "all" else preview.first_rows,
        "sound": sound.told(mark) if preview.ready else "",
        "problems": problems,
        "same": [taking.said_taken(each) for each in CustomersFile.objects.same_as(found)[:3]],
        "today": form.today,
    }
    return render(request, "file.html", context, status=status)


def taken(request, found):
    """On to what the file made: its one order, or where all of them are listed."""
    orders = list(found.orders.order_by("number"))
    said = ", ".join(str(order) for order in orders)
    messages.success(request, f"{found} is taken in: {said}. Confirm what is right.")
    return redirect(orders[0]) if len(orders) == 1 else redirect("files", found.customer_id)


def download(content, *, name, kind):
    answer = HttpResponse(content, content_type=kind)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


@role_required(SALES, MANAGER)
def template_sheet(request):
    made = writing.template(fabrics=Fabric.objects.offered(), systems=HardwareSystem.objects.by_name())
    return download(made, name="blinds.xlsx", kind=SHEET)


@role_required(SALES, MANAGER)
def template_text(request):
    return download(writing.as_text([]), name="blinds.csv", kind=TEXT)


@role_required(SALES, MANAGER)
def order_sheet(request, number):
    lines = find_order(number).lines.in_order()
    return download(writing.as_sheet(lines), name=f"order-{number:04d}.xlsx", kind=SHEET)


@role_required(SALES, MANAGER)
def order_text(request, number):
    lines = find_order(number).lines.in_order()
    return download(writing.as_text(lines), name=f"order-{number:04d}.csv", kind=TEXT)


@role_required(SALES, MANAGER)
def customer_sheet(request, pk):
    """The lines of every open order of a customer."""
    found = get_object_or_404(Customer, pk=pk)
    lines = OrderLine.objects.open_of(found)
    return download(writing.as_sheet(lines), name=f"orders-of-customer-{pk}.xlsx", kind=SHEET)
