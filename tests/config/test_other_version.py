"""While the database is of another version the program answers that it is being upgraded, and writes nothing."""

import pytest
from django.urls import reverse

from orders import versions
from production.route import RAILING
from tests.another_version import NEWER, OLDER, of_another_version
from tests.config.troubled_database import press, starts

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def looking():
    """The look whether database and program fit, as it is outside the tests."""
    versions.look.forget()
    yield
    versions.look.rest()


@pytest.mark.usefixtures("looking")
def test_an_older_program_answers_and_writes_nothing_once_the_database_is_newer(tablet, blind, monkeypatch):
    clock, send = [1000.0], press(tablet, blind)
    monkeypatch.setattr(versions.time, "monotonic", lambda: clock[0])
    page = reverse("station", args=[RAILING])
    assert tablet.get(page).status_code == 200
    with of_another_version(NEWER):
        clock[0] += versions.LOOK_EVERY_S
        answer = send()
        assert (answer.status_code, answer["Retry-After"]) == (503, "10")
        assert "Railwright is being upgraded." in answer.content.decode()
        assert "What you just sent was not recorded." in answer.content.decode()
        assert tablet.get(page).status_code == 503
        # Or the page that says so is without its look.
        style = tablet.get("/static/css/base.css")
        style.close()
        assert style.status_code == 200
        assert "default-src 'none'" in answer["Content-Security-Policy"]
        assert starts(blind) == 0
    clock[0] += versions.LOOK_EVERY_S
    assert send().status_code == 302
    assert starts(blind) == 1


@pytest.mark.usefixtures("looking")
def test_a_newer_program_waits_for_its_migrations(client):
    with of_another_version(OLDER):
        assert client.get("/sign-in/").status_code == 503
        assert client.get("/health/").status_code == 200
        assert client.get("/api/v1/catalogue").json()["detail"].startswith("Railwright is being upgraded.")


@pytest.mark.usefixtures("looking")
def test_it_is_looked_at_once_in_ten_seconds_with_two_queries(client, django_assert_num_queries):
    with django_assert_num_queries(2):
        assert versions.look.fits()
    with django_assert_num_queries(0):
        assert all(versions.look.fits() for _ in range(1000))
