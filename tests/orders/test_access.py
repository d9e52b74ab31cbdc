"""Who may open what: every page of the site, for every role, and for nobody signed in."""

import pytest
from django.urls import path, reverse
from django.urls.resolvers import RegexPattern, URLResolver

from orders import roles
from orders.roles import ADMINISTRATOR, CHECKER, MAKER, SALES
from orders.views.start import SignIn, SignOut
from tests import factories
from tests.orders.who_may_open import (
    ALLOWED,
    AT_THE_BENCH,
    BY_KEY,
    HALFWAY,
    ON_A_TABLET,
    PRESSED,
    PUBLIC,
    UNGUARDED,
    address,
    patterns,
)
from tests.tablets import at_the_bench

pytestmark = pytest.mark.django_db


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
