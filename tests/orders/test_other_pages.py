"""Customers and the people who sign in."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from orders.models import Customer, Person
from tests import factories

pytestmark = pytest.mark.django_db


# Customers


def test_a_customer_is_entered_found_and_changed(client, sales):
    client.post(reverse("customer-new"), {"name": "Wattle Bay", "phone": "02 5550", "market": "australia"})
    found = Customer.objects.get()
    page = client.get(reverse("customers"), {"q": "5550"}).content.decode()
    assert "Wattle Bay" in page
    client.post(reverse("customer-edit", args=[found.pk]), {"name": "Wattle Bay Flats", "market": "canada"})
    found.refresh_from_db()
    assert (found.name, found.market, found.phone) == ("Wattle Bay Flats", "canada", "")


def test_a_customer_without_a_name_is_refused_and_nothing_is_lost(client, sales):
    answer = client.post(reverse("customer-new"), {"name": " ", "email": "not an address", "market": "usa"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Type the customer&#x27;s name." in page
    assert 'value="not an address"' in page
    assert not Customer.objects.exists()


def test_a_customers_page_shows_their_orders_and_nobody_elses(client, sales):
    own = factories.order(by=sales, customer=factories.customer("Wattle Bay"))
    factories.order(by=sales, customer=factories.customer("Petrov"))
    page = client.get(reverse("customer", args=[own.customer_id]))
    assert list(page.context["page"]) == [own]


def test_a_long_list_of_customers_asks_the_database_no_more_than_a_short_one(client, sales):
    def queries():
        with CaptureQueriesContext(connection) as asked:
            client.get(reverse("customers"))
        return len(asked)

    factories.customer("First")
    few = queries()
    Customer.objects.bulk_create(Customer(name=f"Customer {number}") for number in range(200))
    assert queries() <= few


# People


def test_an_administrator_adds_a_person_who_can_then_sign_in(client, administrator):
    entered = {
        "username": "mia",
        "first_name": "Mia",
        "last_name": "Tarn",
        "roles": ["maker", "checker"],
        "password1": "quite-a-long-one",
        "password2": "quite-a-long-one",
    }
    assert client.post(reverse("person-new"), entered).url == reverse("people")
    assert Person.objects.get(username="mia").roles == ["maker", "checker"]
    assert client.login(username="mia", password="quite-a-long-one")


def test_a_weak_password_is_refused_and_the_rest_is_kept(client, administrator):
    entered = {"username": "mia", "first_name": "Mia", "roles": ["maker"], "password1": "short", "password2": "short"}
    answer = client.post(reverse("person-new"), entered)
    assert answer.status_code == 422
    assert 'value="Mia"' in answer.content.decode()
    assert not Person.objects.filter(username="mia").exists()


def person_fields(person, **changed):
    return {
        "username": person.username,
        "first_name": "",
        "last_name": "",
        "roles": person.roles,
        "is_active": "on",
    } | (changed)


def test_an_administrator_changes_roles_and_shuts_a_person_out(client, administrator):
    mia = factories.person("maker", name="mia")
    fields = person_fields(mia, roles=["checker"])
    del fields["is_active"]
    client.post(reverse("person", args=[mia.pk]), fields)
    mia.refresh_from_db()
    assert (mia.roles, mia.is_active) == (["checker"], False)
    assert not client.login(username="mia", password="a-long-passphrase")


def test_administrators_cannot_shut_themselves_out(client, administrator):
    fields = person_fields(administrator, roles=["sales"])
    del fields["is_active"]
    answer = client.post(reverse("person", args=[administrator.pk]), fields)
    assert answer.status_code == 422
    assert "You can&#x27;t shut yourself out" in answer.content.decode()
    assert "You can&#x27;t stop being administrator yourself" in answer.content.decode()
    administrator.refresh_from_db()
    assert (administrator.roles, administrator.is_active) == (["administrator"], True)


def test_a_role_that_does_not_exist_is_refused(client, administrator):
    mia = factories.person("maker", name="mia")
    assert client.post(reverse("person", args=[mia.pk]), person_fields(mia, roles=["owner"])).status_code == 422


def test_a_new_password_takes_the_place_of_the_old_one(client, administrator):
    mia = factories.person("maker", name="mia")
    new = {"new_password1": "quite-another-one", "new_password2": "quite-another-one"}
    assert client.post(reverse("person-password", args=[mia.pk]), new).url == reverse("people")
    assert not client.login(username="mia", password="a-long-passphrase")
    assert client.login(username="mia", password="quite-another-one")


def test_administrators_stay_signed_in_after_changing_their_own_password(client, administrator):
    new = {"new_password1": "quite-another-one", "new_password2": "quite-another-one"}
    client.post(reverse("person-password", args=[administrator.pk]), new)
    assert client.get(reverse("people")).status_code == 200
