"""Signing in on an enrolled tablet: a name and its PIN, or a badge, whoever was signed in before."""

from functools import wraps

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import JsonResponse
from django.shortcuts import redirect, render
from django.urls import Resolver404, resolve, reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from orders import audit, sessions
from orders.asking import address_of
from orders.languages import translated
from orders.roles import BENCH
from production import tablets

IDLE_S = 8 * 60 * 60
"""A shift: so long after what was done last, a session that a PIN or a badge began is over."""


def on_an_enrolled_tablet(*methods):
    """For whoever stands before an enrolled tablet; anybody else is led to signing in with a password."""

    def guard(view):
        @login_not_required
        @require_http_methods(methods)
        @never_cache
        @sensitive_post_parameters("pin", "code")
        @wraps(view)
        def guarded(request):
            return view(request) if request.tablet else redirect("sign-in")

        return translated(guarded)

    return guard


@on_an_enrolled_tablet("GET", "POST")
def tablet_sign_in(request):
    """The names of who works here, and the keys for a PIN."""
    if request.method == "GET" and request.user.is_authenticated:
        return redirect("start")
    refused = None
    if request.method == "POST":
        try:
            return _sign_in_by_pin(request)
        except tablets.Refused as reason:
            refused = str(reason)
            tell_of_refusal(request)
    given = request.POST or request.GET
    context = {
        "people": tablets.people_at(request.tablet),
        "chosen": given.get("person", ""),
        "next": given.get("next", ""),
        "refused": refused,
        "most_digits": tablets.PIN_DIGITS[1],
    }
    return render(request, "tablet_sign_in.html", context, status=422 if refused else 200)


def _sign_in_by_pin(request):
    chosen, secret = request.POST.get("person", ""), request.COOKIES[tablets.COOKIE]
    person = tablets.sign_in_by_pin(
        tablet=request.tablet,
        person_pk=int(chosen) if chosen.isascii() and chosen.isdigit() else None,
        pin=request.POST.get("pin", "").strip(),
        at=timezone.now(),
    )
    _begin(request, person, by="PIN")
    return keep_cookie(redirect(_way_on(request)), request, secret)


@on_an_enrolled_tablet("POST")
def badge(request):
    """Sign in whose badge was scanned, in the place of whoever was signed in; the answer says where to go on."""
    try:
        person = tablets.sign_in_by_badge(tablet=request.tablet, code=request.POST.get("code", ""), at=timezone.now())
    except tablets.Refused as refused:
        tell_of_refusal(request)
        return JsonResponse({"said": str(refused)}, status=422)
    _begin(request, person, by="badge")
    return keep_cookie(JsonResponse({"go": _way_on(request)}), request, request.COOKIES[tablets.COOKIE])


def tell_of_refusal(request):
    """In English, whatever language the tablet speaks; never what was typed."""
    chosen = request.POST.get("person", "")
    person = next((each for each in tablets.people_at(request.tablet) if str(each.pk) == chosen), None)
    whose = f"{person}: PIN" if person else "badge or PIN of nobody known"
    audit.did("not-let-in", kind="person", thing=person.pk if person else "", words=whose)


def _begin(request, person, *, by):
    forms_token = request.META.get("CSRF_COOKIE")
    login(request, person)
    sessions.begin(request, address=address_of(request))
    audit.did("signed-in", of=person, words=f"{person}, by {by}", by=person)
    if forms_token:
        # What another page of this tablet still sends is to be refused as somebody else's, which says what is wrong,
        # not as forged. Nothing is lost: the session's cookie is sent from no other site.
        request.META["CSRF_COOKIE"] = forms_token
    request.session[BENCH] = request.tablet.pk
    request.session.set_expiry(IDLE_S)


def keep_cookie(answer, request, secret):
    """Let the tablet keep its secret for as long as a browser may."""
    answer.set_cookie(
        tablets.COOKIE,
        secret,
        max_age=tablets.COOKIE_AGE,
        httponly=True,
        samesite="Lax",
        secure=request.is_secure(),
    )
    return answer


def _way_on(request):
    """The page that was asked for or looked at, where it is one of the stations'; else the tablet's own queue."""
    wanted = request.POST.get("next", "")
    try:
        is_ours = url_has_allowed_host_and_scheme(wanted, allowed_hosts=None) and wanted.startswith("/")
        if is_ours and getattr(resolve(wanted.partition("?")[0]).func, "bench", False):
            return wanted
    except Resolver404:
        pass
    return reverse("station", args=[request.tablet.station])
