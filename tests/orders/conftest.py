"""Somebody from sales, signed in, with a system to order from."""

import pytest

from tests import factories


@pytest.fixture
def sales(client):
    found = factories.person("sales", name="nora")
    client.force_login(found)
    factories.system()
    return found
