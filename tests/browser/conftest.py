"""People at the stations, and tablets that they are signed in on."""

import pytest

from tests.factories import person


@pytest.fixture
def maker(transactional_db):
    return person("maker", name="mara", first_name="Mara", last_name="Lind")


@pytest.fixture
def other_maker(transactional_db):
    return person("maker", name="tomasz", first_name="Tomasz", last_name="Okafor")


@pytest.fixture
def tablet(watched_page, sign_in, maker):
    """A tablet that the maker is signed in on."""
    with watched_page("tablet") as page:
        sign_in(page, maker)
        yield page


@pytest.fixture
def other_tablet(watched_page, sign_in, other_maker):
    """Another one, that somebody else is signed in on."""
    with watched_page("tablet") as page:
        sign_in(page, other_maker)
        yield page
