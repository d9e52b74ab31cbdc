"""Who is signed in is read with the session, and held to all that Django holds it to."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders.models import Person
from tests import factories

pytestmark = pytest.mark.django_db
PAGE = {"HTTP_ACCEPT": "text/html"}


def is_in(client):
    return client.get(reverse("orders"), **PAGE).status_code == 200


def test_the_session_and_its_person_are_one_query(client, sales):
    with CaptureQueriesContext(connection) as caught:
        assert is_in(client)
    asked = [each["sql"] for each in caught if each["sql"].startswith("SELECT") and "session_data" in each["sql"]]
    assert len(asked) == 1
    assert not [each for each in caught if 'FROM "orders_person"' in each["sql"]]


@pytest.mark.parametrize(
    "change", [{"is_active": False}, {"password": "another hash"}], ids=["no longer active", "another password"]
)
def test_whoever_may_not_go_on_is_out_with_the_next_page(client, sales, change):
    assert is_in(client)
    Person.objects.filter(pk=sales.pk).update(**change)
    assert not is_in(client)


def test_roles_are_those_of_now(client, sales):
    assert is_in(client)
    Person.objects.filter(pk=sales.pk).update(roles=["maker"])
    assert client.get(reverse("orders"), **PAGE).status_code == 403


def test_whoever_signs_in_in_the_place_of_another_is_who_is_signed_in(client, sales):
    other = factories.person("manager", name="ines")
    client.force_login(other)
    assert client.get(reverse("orders"), **PAGE).context["user"] == other


def test_a_session_without_a_person_opens_nothing(sales):
    client = Client()
    session = client.session
    session["seen"] = True
    session.save()
    assert not is_in(client)
