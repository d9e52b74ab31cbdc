"""The manager lets tablets in, and gives makers and checkers the PINs and badges that they sign in with there."""

from functools import wraps

from django.contrib import messages
from django.contrib.auth import logout
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from orders.again import password_again
from orders.languages import translated
from orders.models import Person
from orders.roles import CHECKER, MAKER, MANAGER, role_required
from production import labels, tablets
from production.models import Tablet
from production.tablet_forms import EnrolForm, PinForm
from production.words import _

from .papers import pdf_answer
from .tablet_sign_in import keep_cookie


@role_required(MANAGER)
@password_again(opened=False)
def tablets_in_use(request):
    """The tablets in use, and the form that lets this browser in as one."""
    form = EnrolForm(request.POST or None)
    if form.is_valid():
        try:
            _tablet, secret = tablets.enrol(**form.cleaned_data, by=request.user, at=timezone.now())
        except tablets.Refused as refused:
            form.add_error("name", str(refused))
        else:
            logout(request)
            return keep_cookie(redirect("tablet-sign-in"), request, secret)
    context = {"form": form, "tablets": Tablet.objects.in_use(), "this": request.tablet}
    return render(request, "tablets.html", context, status=422 if form.is_bound else 200)


@role_required(MANAGER)
@require_POST
@password_again(back="tablets")
def tablet_retire(request, pk):
    tablet = get_object_or_404(Tablet, pk=pk)
    tablets.retire(tablet=tablet, at=timezone.now())
    messages.success(request, f"{tablet} is retired: nobody signs in on it now. To let it in again, enrol it anew.")
    return redirect("tablets")


@role_required(MANAGER)
def bench_people(request):
    """Who may sign in on tablets, and with what."""
    return render(request, "bench_people.html", {"people": tablets.people()})


def of_bench_person(*, back=None):
    """For a manager who gave the password lately, of somebody who works at the stations; anybody else has no use for a
    PIN or badge. `back`: as for password_again."""

    def guard(view):
        @role_required(MANAGER)
        @password_again(back=back)
        @wraps(view)
        def found(request, pk):
            person = get_object_or_404(Person, pk=pk)
            if not tablets.may_have(person):
                raise Http404(f"{person} is neither maker nor checker, so has no PIN and no badge.")
            return view(request, person)

        return found

    return guard


@of_bench_person()
def bench_person(request, person):
    """One person's PIN and badge."""
    return _pin_page(request, person, template="bench_person.html", done="bench-people")


@translated
@role_required(MAKER, CHECKER)
@password_again()
def own_pin(request):
    """A maker or checker who signed in with a password chooses their own PIN."""
    return _pin_page(request, request.user, template="own_pin.html", done="stations")


def _pin_page(request, person, *, template, done):
    form = PinForm(request.POST or None)
    if form.is_valid():
        tablets.set_pin(person=person, pin=form.cleaned_data["pin"])
        messages.success(request, _("{person} has a new PIN.", person=person))
        return redirect(done)
    return render(request, template, {"form": form, "person": person}, status=422 if form.is_bound else 200)


@of_bench_person(back="bench-people")
@require_POST
def bench_unlock(request, person):
    tablets.lift_lock(person=person)
    messages.success(request, f"The PIN of {person} works again.")
    return redirect("bench-people")


@of_bench_person(back="bench-people")
@require_POST
@never_cache
def badge_new(request, person):
    """A new badge to print; its code is told nowhere else, and the badge before is worth nothing."""
    code = tablets.new_badge(person=person)
    return pdf_answer(labels.badge_pdf(person=person, code=code, at=timezone.now()), filename="badge.pdf", saved=True)


@of_bench_person(back="bench-people")
@require_POST
def badge_take(request, person):
    tablets.take_badge(person=person)
    messages.success(request, f"The badge of {person} is worth nothing now.")
    return redirect("bench-people")
