"""People at the stations, and a tablet that one of them is signed in on."""

import pytest

from tests.factories import person


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
def tablet(client, maker):
    """A tablet that the maker is signed in on."""
    client.force_login(maker)
    return client
