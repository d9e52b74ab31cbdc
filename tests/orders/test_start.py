"""Signing in and out, and the page that each role starts on."""

import pytest
from django.urls import reverse

from orders.roles import ADMINISTRATOR, CHECKER, MAKER, MANAGER, SALES
from tests import factories

pytestmark = pytest.mark.django_db


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
