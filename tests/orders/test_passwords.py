"""What a password is typed into and good for, and what nobody slips past a form."""

import re

import pytest
from django.apps import apps
from django.core import signing
from django.test import Client
from django.urls import reverse

from orders.models import Customer, Person
from production import tablets
from production.views import live
from tests import factories

pytestmark = pytest.mark.django_db
PASSWORD = "a-long-passphrase"


def fields_of(page):
    return re.findall(r"<input[^>]*password[^>]*>", page.content.decode())


def test_a_password_may_be_pasted_and_is_masked(client, administrator):
    pages = [
        Client().get(reverse("sign-in")),
        *(client.get(reverse(name)) for name in ("own-sign-in", "confirm", "person-new")),
        client.get(reverse("person-password", args=[administrator.pk])),
    ]
    for page in pages:
        fields = [field for field in fields_of(page) if 'name="username"' not in field and 'type="radio"' not in field]
        assert fields
        for field in fields:
            assert 'type="password"' in field
            assert re.search('autocomplete="(current|new)-password"', field)
            assert "onpaste" not in field
        assert "question" not in page.content.decode().lower()


def test_a_password_is_good_for_as_long_as_it_is_kept():
    names = [field.name for field in Person._meta.get_fields()]
    assert not [name for name in names if "expire" in name or "changed" in name]


def test_a_new_workshop_has_nobody_in_it():
    """Whatever migrations bring, they bring no account."""
    assert not Person.objects.exists()
    assert not apps.get_model("orders", "ApiKey").objects.exists()
    assert not apps.get_model("production", "Tablet").objects.exists()


def test_a_field_that_a_form_doesn_t_have_changes_nothing(client, administrator):
    nora = factories.person("sales", name="nora")
    typed = {
        "username": "nora",
        "roles": ["sales"],
        "is_active": "on",
        "is_superuser": "on",
        "pin": "4072",
        "badge": "x",
    }
    assert client.post(reverse("person", args=[nora.pk]), typed).status_code == 302
    nora.refresh_from_db()
    assert (nora.is_superuser, nora.is_staff, nora.pin, nora.badge) == (False, False, "", None)


def test_nor_one_of_a_customer(client):
    client.force_login(factories.person("sales"))
    typed = {"name": "Wattle Bay", "market": "australia", "id": "4711", "sought_name": "other"}
    client.post(reverse("customer-new"), typed)
    assert Customer.objects.get().pk != 4711


def test_a_token_for_one_thing_opens_no_other():
    person = factories.person("maker")
    with pytest.raises(tablets.Refused):
        tablets.read_maker_token(live.token(until=2_000_000_000))
    with pytest.raises(tablets.Refused):
        tablets.read_maker_token(signing.dumps([person.pk, None], salt="another"))
    assert tablets.read_maker_token(tablets.maker_token(person=person)).person == person


def test_of_a_name_that_comes_twice_one_is_taken(client):
    client.force_login(factories.person("sales"))
    address = f"{reverse('customer-new')}?name=Of%20the%20address&market=usa"
    answer = client.post(address, {"name": ["First", "Second"], "market": "australia"})
    assert answer.status_code == 302
    assert [(each.name, each.market) for each in Customer.objects.all()] == [("Second", "australia")]
