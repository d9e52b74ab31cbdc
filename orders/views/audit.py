"""The audit: who changed and saw what; by person, order and day."""

import datetime as dt

from django import forms
from django.conf import settings
from django.core.paginator import Paginator
from django.shortcuts import render
from django.utils import timezone

from orders import audit as record
from orders.audit_words import said
from orders.models import AuditEntry, Person
from orders.roles import ADMINISTRATOR, MANAGER, role_required

PAGE_SIZE = 100


class SoughtForm(forms.Form):
    """What is looked for in the audit; all of it may be left out."""

    person = forms.ModelChoiceField(Person.objects.order_by("username"), required=False, empty_label="Anybody")
    order = forms.IntegerField(
        required=False,
        min_value=1,
        max_value=99_999_999,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "maxlength": 8}),
        error_messages={"invalid": "An order's number has digits only, such as 1042."},
    )
    day = forms.DateField(
        required=False,
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"invalid": "That is not a day. Type it as year-month-day, such as 2026-03-18."},
    )


@role_required(MANAGER, ADMINISTRATOR)
def audit(request):
    form = SoughtForm(request.GET or None)
    sought = form.cleaned_data if form.is_valid() else {}
    found = AuditEntry.objects.sought(
        person=sought.get("person"), order=sought.get("order"), **_moments(sought.get("day"))
    )
    page = Paginator(found.newest_first(), PAGE_SIZE).get_page(request.GET.get("page"))
    for entry in page:
        entry.did = record.WHAT.get(entry.what, entry.what)
        entry.was, entry.became = said(entry.before), said(entry.after)
    context = {"form": form, "page": page, "kept_days": settings.AUDIT_DAYS}
    return render(request, "audit.html", context, status=422 if form.is_bound and not form.is_valid() else 200)


def _moments(day):
    """From midnight to midnight of `day` in the workshop's time."""
    if day is None:
        return {}
    begin, end = (dt.datetime.combine(each, dt.time.min) for each in (day, day + dt.timedelta(days=1)))
    return {"first": timezone.make_aware(begin), "end": timezone.make_aware(end)}
