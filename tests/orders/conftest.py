"""Somebody from sales, signed in, with a system to order from; a clock that is put on; and values for addresses."""

import datetime as dt

import pytest
from django.utils import timezone

from tests import factories
from tests.whole_workshop import in_addresses


@pytest.fixture
def sales(client):
    found = factories.person("sales", name="nora")
    client.force_login(found)
    factories.system()
    return found


@pytest.fixture
def later(monkeypatch):
    """Function that puts the clock on: `later(hours=7)`."""

    def put_on(**time):
        at = timezone.now() + dt.timedelta(**time)
        monkeypatch.setattr("django.utils.timezone.now", lambda: at)

    return put_on


@pytest.fixture
def arguments():
    """For each name in an address, a value that leads to something."""
    return in_addresses(factories.released()[0])
