"""A released blind, and a tablet to work on it."""

import pytest
from django.test import Client

from tests import factories


@pytest.fixture
def tablet():
    """A tablet that a maker is signed in on; what breaks is answered and not raised."""
    found = Client(raise_request_exception=False)
    found.force_login(factories.person("maker"))
    return found


@pytest.fixture
def blind():
    return factories.released()[0]
