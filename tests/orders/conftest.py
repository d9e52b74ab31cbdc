"""Who administers, an order to be entered, a customer who sends files, and values for addresses."""

import pytest

from tests import factories
from tests.orders.looked_at import catalogue
from tests.orders.pages import working_day_in
from tests.whole_workshop import in_addresses


@pytest.fixture
def order(sales):
    """An order of sales without a line yet, and fabrics to choose from."""
    factories.fabric(89)
    factories.fabric(127)
    return factories.order(by=sales, due_on=working_day_in(14))


@pytest.fixture
def customer(sales):
    """A customer, and all that their files may ask for."""
    catalogue()
    return factories.customer()


@pytest.fixture
def ada(client):
    """An administrator who is a manager too, signed in."""
    found = factories.person("administrator", "manager", name="ada")
    client.force_login(found)
    return found


@pytest.fixture
def arguments():
    """For each name in an address, a value that leads to something."""
    return in_addresses(factories.released()[0])
