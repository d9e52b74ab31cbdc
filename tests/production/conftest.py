"""People at the stations, a tablet that one of them is signed in on, an order for a customer's papers, and a program
that orders."""

import pytest

from production import tablets
from tests import factories
from tests.factories import person
from tests.production import api_desk
from tests.production.customer_papers import order_for
from tests.tablets import PIN


@pytest.fixture
def maker(db):
    return person("maker", name="mara", first_name="Mara", last_name="Lind")


@pytest.fixture
def other_maker(db):
    return person("maker", name="tomasz", first_name="Tomasz", last_name="Okafor")


@pytest.fixture
def checker(db):
    return person("checker", name="ines", first_name="Ines", last_name="Halloran")


@pytest.fixture
def mara(maker):
    """The maker, with a PIN."""
    tablets.set_pin(person=maker, pin=PIN)
    return maker


@pytest.fixture
def manager(client):
    """A manager, signed in."""
    found = person("manager", name="greta")
    client.force_login(found)
    return found


@pytest.fixture
def tablet(client, maker):
    """A tablet that the maker is signed in on."""
    client.force_login(maker)
    return client


@pytest.fixture
def order(sales):
    """A confirmed order, whose customer has an e-mail address."""
    customer = factories.customer("Marlow Court", contact="Ida Brook", email="ida@marlow.example")
    return order_for("confirmation", customer=customer, reference="PO 77", lines=[{}])


@pytest.fixture
def catalogue_filled(db):
    """What another program may order: one system, and a fabric of each width."""
    return api_desk.catalogue()


@pytest.fixture
def shop(catalogue_filled):
    """Another program, with a key for every customer."""
    return api_desk.Program()
