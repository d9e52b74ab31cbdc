"""Who may open what: every page of the site, for every role, and for nobody signed in."""

import pytest
from django.urls import get_resolver, path, reverse
from django.urls.resolvers import RegexPattern, URLResolver

from orders import roles
from orders.roles import ADMINISTRATOR, CHECKER, MAKER, MANAGER, SALES
from orders.views.start import SignIn, SignOut
from tests import factories
from tests.tablets import at_the_bench

pytestmark = pytest.mark.django_db

OFFICE = {SALES, MANAGER}
WORKSHOP = {MAKER, CHECKER, MANAGER}
WORKING = {SALES, MAKER, CHECKER, MANAGER}
EVERYBODY = set(roles.ROLE_NAMES)
# Open to anybody who is signed in, and no more of them than these.
UNGUARDED = {
    "start",
    "rules",
    "sign-in",
    "sign-in-code",
    "sign-out",
    "language",
    "tablet-sign-in",
    "badge",
    "outbox",
    "away",
    "service-worker",
    "health",
    "ready",
    "metrics",
    "api",
    "api-openapi",
    "api-orders",
    "api-order",
    "api-blinds",
    "api-changes",
    "api-catalogue",
    "api-figures",
    "api-nothing",
}
# What waits on a tablet is taken in the name that its form was signed with, whoever is signed in; what a tablet rests
# on without network, and whoever watches the server, are told nothing of anybody.
PUBLIC = {"sign-in", "outbox", "away", "service-worker", "health", "ready", "metrics", "api", "api-openapi"}
# What other programs ask for opens with a key, and with no session, whoever's.
BY_KEY = {"api-orders", "api-order", "api-blinds", "api-changes", "api-catalogue", "api-figures", "api-nothing"}
# Takes what is pressed on a page that anybody sees, and shows none.
PRESSED = {"language"}
# Open before signing in on an enrolled tablet, and nowhere else.
ON_A_TABLET = {"tablet-sign-in", "badge"}
# Open to whoever has given the right password, and not signed in yet.
HALFWAY = {"sign-in-code"}
# What a session opens that was begun with a PIN or a badge, whatever roles its person holds.
AT_THE_BENCH = {
    "start",
    "sign-in",
    *HALFWAY,
    "language",
    "rules",
    "outbox",
    "away",
    "service-worker",
    "tablet-sign-in",
    "badge",
    "stations",
    "station",
    "station-queue",
    "scan",
    "station-blind",
    "station-record",
    "blind-figure",
    "blind-cords",
    "ticket",
    "rail-label",
    "pack-label",
    "health",
    "ready",
    "metrics",
    "api",
    "api-openapi",
    *BY_KEY,
}

ALLOWED = {
    "start": EVERYBODY,
    "sign-in": EVERYBODY,
    "sign-in-code": EVERYBODY,
    "sign-out": EVERYBODY,
    "language": EVERYBODY,
    "orders": OFFICE,
    "order-new": OFFICE,
    "order": OFFICE,
    "order-edit": OFFICE,
    "order-confirm": OFFICE,
    "order-back-to-draft": OFFICE,
    "order-promise": OFFICE,
    "order-cancel": OFFICE,
    "order-collected": OFFICE,
    "order-delivered": OFFICE,
    "lines": OFFICE,
    "lines-figures": OFFICE,
    "order-right": OFFICE,
    "line-new": OFFICE,
    "line": OFFICE,
    "line-remove": OFFICE,
    "customers": OFFICE,
    "customer-new": OFFICE,
    "customers-found": OFFICE,
    "customer": OFFICE,
    "customer-edit": OFFICE,
    "files": OFFICE,
    "file": OFFICE,
    "customer-sheet": OFFICE,
    "template-sheet": OFFICE,
    "template-text": OFFICE,
    "order-sheet": OFFICE,
    "order-text": OFFICE,
    "faults": {MANAGER},
    "fault": {MANAGER},
    "fault-move": {MANAGER},
    "fault-use": {MANAGER},
    "figures": OFFICE,
    "find": OFFICE,
    "release": OFFICE,
    "order-at-work": OFFICE,
    "changes": OFFICE,
    "order-changes": OFFICE,
    "change-add": OFFICE,
    "change-line": OFFICE,
    "change-take-off": OFFICE,
    "change-head": OFFICE,
    "change-accept": {MANAGER},
    "change-refuse": {MANAGER},
    "change-withdraw": OFFICE,
    "order-parts": WORKING,
    "order-tickets": WORKING,
    "order-labels": WORKING,
    "order-paper": OFFICE,
    "order-paper-send": OFFICE,
    "sent-paper": OFFICE,
    "letter-again": OFFICE,
    "blind": WORKING,
    "blind-figure": WORKING,
    "blind-working": WORKING,
    "rules": EVERYBODY,
    "ticket": WORKING,
    "rail-label": WORKING,
    "pack-label": WORKING,
    "stations": WORKSHOP,
    "station": WORKSHOP,
    "station-queue": WORKSHOP,
    "scan": WORKSHOP,
    "station-blind": WORKSHOP,
    "station-record": WORKSHOP,
    "outbox": EVERYBODY,
    "away": EVERYBODY,
    "service-worker": EVERYBODY,
    "health": EVERYBODY,
    "ready": EVERYBODY,
    "metrics": EVERYBODY,
    "blind-cords": WORKSHOP,
    "day": {SALES, CHECKER, MANAGER, ADMINISTRATOR},
    "calendar": OFFICE,
    "calendar-close": {MANAGER},
    "calendar-open": {MANAGER},
    "calendar-add-day": {MANAGER},
    "calendar-take-day-off": {MANAGER},
    "working-week": {MANAGER},
    "plan": OFFICE,
    "plan-late": OFFICE,
    "plan-minutes": OFFICE,
    "people-at-work": {MANAGER},
    "absence-new": {MANAGER},
    "absence-remove": {MANAGER},
    "order-promise-day": OFFICE,
    "order-earliest": OFFICE,
    "catalogue": OFFICE | {ADMINISTRATOR},
    "system": OFFICE | {ADMINISTRATOR},
    "revision": OFFICE | {ADMINISTRATOR},
    "revision-file": OFFICE | {ADMINISTRATOR},
    "difference": OFFICE | {ADMINISTRATOR},
    "system-new": {MANAGER, ADMINISTRATOR},
    "system-import": {MANAGER, ADMINISTRATOR},
    "system-retire": {MANAGER, ADMINISTRATOR},
    "draft-new": {MANAGER, ADMINISTRATOR},
    "revision-edit": {MANAGER, ADMINISTRATOR},
    "revision-publish": {MANAGER, ADMINISTRATOR},
    "revision-discard": {MANAGER, ADMINISTRATOR},
    "fabric-new": {MANAGER, ADMINISTRATOR},
    "fabric": {MANAGER, ADMINISTRATOR},
    "fabric-offer": {MANAGER, ADMINISTRATOR},
    "fabric-remove": {MANAGER, ADMINISTRATOR},
    "tablet-sign-in": EVERYBODY,
    "badge": EVERYBODY,
    "well": {MANAGER, ADMINISTRATOR},
    "own-pin": {MAKER, CHECKER},
    "tablets": {MANAGER},
    "tablet-retire": {MANAGER},
    "bench-people": {MANAGER},
    "bench-person": {MANAGER},
    "bench-unlock": {MANAGER},
    "badge-new": {MANAGER},
    "badge-take": {MANAGER},
    "api": EVERYBODY,
    "api-openapi": EVERYBODY,
    **dict.fromkeys(BY_KEY, EVERYBODY),
    "api-keys": {ADMINISTRATOR},
    "api-key-revoke": {ADMINISTRATOR},
    "own-sign-in": EVERYBODY,
    "own-first-password": EVERYBODY,
    "own-second-step": EVERYBODY,
    "own-spare-codes": EVERYBODY,
    "own-second-step-remove": EVERYBODY,
    "own-others-end": EVERYBODY,
    "confirm": EVERYBODY,
    "signed-in": {MANAGER, ADMINISTRATOR},
    "signed-in-end": {MANAGER, ADMINISTRATOR},
    "audit": {MANAGER, ADMINISTRATOR},
    "works": EVERYBODY,
    "work": EVERYBODY,
    "work-cancel": EVERYBODY,
    "work-result": EVERYBODY,
    "people": {ADMINISTRATOR},
    "person-new": {ADMINISTRATOR},
    "person": {ADMINISTRATOR},
    "person-password": {ADMINISTRATOR},
    "person-second-step-remove": {ADMINISTRATOR},
}


def patterns(resolver=None):
    for pattern in (resolver or get_resolver()).url_patterns:
        yield from patterns(pattern) if isinstance(pattern, URLResolver) else [pattern]


def address(pattern, arguments):
    names = pattern.pattern.converters
    return reverse(pattern.name, kwargs={name: arguments[name] for name in names})


def unstated(resolver=None):
    """The names of pages of which it is not stated who may open them: here, and by a guard of their own."""
    found = {pattern.name: getattr(pattern.callback, "roles", ()) for pattern in patterns(resolver)}
    return {name for name, guard in found.items() if name not in ALLOWED or not (guard or name in UNGUARDED)}


def test_of_every_page_it_is_stated_who_may_open_it():
    assert unstated() == set()


def test_a_page_that_states_nobody_is_found():
    @roles.role_required(SALES)
    def guarded(request):
        raise AssertionError

    def bare(request):
        raise AssertionError

    planted = [
        path("a/", guarded, name="planted"),
        path("b/", bare, name="orders"),
        path("c/", guarded, name="customers"),
    ]
    assert unstated(URLResolver(RegexPattern("^/"), planted)) == {"planted", "orders"}


def test_every_page_of_the_site_is_in_the_table():
    assert {pattern.name for pattern in patterns()} == set(ALLOWED)


def test_every_page_carries_its_guard_save_those_open_to_all_who_are_signed_in():
    guards = {pattern.name: set(getattr(pattern.callback, "roles", ())) for pattern in patterns()}
    assert {name for name, guard in guards.items() if not guard} == UNGUARDED
    assert {name: guard for name, guard in guards.items() if guard} == {
        name: allowed for name, allowed in ALLOWED.items() if name not in UNGUARDED
    }


def test_the_pages_without_a_guard_of_their_own_are_the_ones_for_signing_in_and_out():
    views = {pattern.name: getattr(pattern.callback, "view_class", None) for pattern in patterns()}
    assert (views["sign-in"], views["sign-out"]) == (SignIn, SignOut)


# Between them the other three open every page, so that each is asked of either database.
OPENED_BY_OTHERS_TOO = (SALES, CHECKER)
EACH_ROLE = [pytest.param(role, marks=[pytest.mark.once] * (role in OPENED_BY_OTHERS_TOO)) for role in roles.ROLE_NAMES]


def test_what_sales_and_the_checker_open_others_open_too():
    left = {role for role in roles.ROLE_NAMES if role not in OPENED_BY_OTHERS_TOO}
    assert {name for name, allowed in ALLOWED.items() if not allowed & left} == set()


@pytest.mark.parametrize("role", EACH_ROLE)
def test_each_role_is_let_in_or_refused_as_the_table_says(client, arguments, role):
    client.force_login(factories.person(role))
    let_in = {}
    for pattern in patterns():
        if pattern.name == "sign-out":
            continue
        answer = client.get(address(pattern, arguments))
        assert answer.status_code < 500, pattern.name
        let_in[pattern.name] = answer.status_code != 403
    assert let_in == {name: role in allowed for name, allowed in ALLOWED.items() if name != "sign-out"}


def test_somebody_with_two_roles_may_do_what_either_may(client, arguments):
    client.force_login(factories.person(MAKER, ADMINISTRATOR))
    assert client.get(reverse("people")).status_code == 200
    assert client.get(reverse("blind", args=[arguments["code"]])).status_code == 200
    assert client.get(reverse("orders")).status_code == 403


@pytest.mark.once
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_session_begun_with_a_pin_or_badge_opens_the_stations_alone(client, arguments, method):
    everything = factories.person(*roles.ROLE_NAMES)
    let_in = set()
    for pattern in patterns():
        if pattern.name == "sign-out":
            continue
        at_the_bench(client, everything)
        answer = getattr(client, method)(address(pattern, arguments), HTTP_HX_REQUEST="true")
        assert answer.status_code < 500, pattern.name
        if answer.status_code != 403:
            let_in.add(pattern.name)
    assert let_in == AT_THE_BENCH


def test_a_view_says_by_itself_that_it_is_for_the_bench():
    guarded = {pattern.name: pattern.callback for pattern in patterns() if pattern.name not in UNGUARDED}
    assert {name for name, view in guarded.items() if view.bench} == AT_THE_BENCH - UNGUARDED


def test_nobody_sees_anything_but_the_sign_in_page_before_signing_in(client, arguments):
    for pattern in patterns():
        answer = client.get(address(pattern, arguments))
        if pattern.name in PUBLIC:
            assert answer.status_code == 200
        elif pattern.name in BY_KEY:
            assert answer.status_code == (404 if pattern.name == "api-nothing" else 401)
        elif pattern.name in PRESSED:
            assert answer.status_code == 405
        elif pattern.name in ON_A_TABLET | HALFWAY:
            assert answer.status_code == 405 or answer.url == reverse("sign-in")
        elif pattern.name != "sign-out":
            assert answer.status_code == 302, pattern.name
            assert answer.url.startswith(reverse("sign-in") + "?next="), pattern.name


def test_the_refusal_names_the_roles_that_are_wanted_and_who_is_signed_in(client):
    client.force_login(factories.person(MAKER, name="tove"))
    page = client.get(reverse("orders"))
    assert page.status_code == 403
    assert "This page is for sales or manager." in page.content.decode()
    assert "You are signed in as tove (maker)." in page.content.decode()


@pytest.mark.parametrize(
    ("role", "first_page"),
    [(SALES, "orders"), (MAKER, "stations"), (CHECKER, "stations"), (MANAGER, "day"), (ADMINISTRATOR, "people")],
)
def test_each_role_starts_on_its_own_page(client, role, first_page):
    client.force_login(factories.person(role))
    assert client.get(reverse("start")).url == reverse(first_page)


def test_somebody_without_a_role_is_told_whom_to_ask(client):
    client.force_login(factories.person())
    page = client.get(reverse("start"))
    assert page.status_code == 403
    assert "Ask an administrator to give you one" in page.content.decode()


def test_signing_in_leads_to_the_page_that_was_asked_for(client):
    factories.person(SALES, name="nora")
    asked = client.get(reverse("customers"))
    page = client.get(asked.url)
    assert f'name="next" value="{reverse("customers")}"' in page.content.decode()
    entered = {"username": "nora", "password": "a-long-passphrase", "next": reverse("customers")}
    assert client.post(reverse("sign-in"), entered).url == reverse("customers")


def test_a_wrong_password_is_refused_in_words_and_the_name_stays(client):
    factories.person(SALES, name="nora")
    page = client.post(reverse("sign-in"), {"username": "nora", "password": "wrong"}).content.decode()
    assert "don&#x27;t go together" in page or "don't go together" in page
    assert 'value="nora"' in page


def test_signing_out_takes_a_press_and_leads_back_to_signing_in(client):
    client.force_login(factories.person(SALES))
    assert client.get(reverse("sign-out")).status_code == 405
    assert client.post(reverse("sign-out")).url == reverse("sign-in")
    assert client.get(reverse("orders")).status_code == 302


def test_a_form_sent_without_its_token_is_refused_in_words():
    from django.test import Client

    client = Client(enforce_csrf_checks=True)
    client.force_login(factories.person(SALES))
    page = client.post(reverse("customer-new"), {"name": "Unseen"})
    assert page.status_code == 403
    assert "nothing was done" in page.content.decode()
