"""A file with more rows than are taken in within a request: taken in by a worker, once, or refused with each reason."""

import pytest

from orders.importing import taking
from orders.models import CustomersFile, Fabric, Order, Work
from tests.orders.files_page import chosen, pressed
from tests.orders.made_files import separated
from tests.orders.pages import in_days
from tests.worked import do_what_waits

pytestmark = pytest.mark.django_db


@pytest.fixture
def long_file(client, customer, monkeypatch):
    """The page of a file with more rows than are taken in within a request."""
    monkeypatch.setattr("orders.views.files.AT_ONCE", 1)
    return chosen(client, customer, separated())


def test_a_long_file_is_taken_in_outside_the_request_and_leads_to_its_order(client, long_file):
    answer = pressed(client, long_file, due_on=in_days(30).isoformat())
    found = Work.objects.get()
    assert answer.redirect_chain == [(found.get_absolute_url(), 302)]
    assert not Order.objects.exists()
    pressed(client, long_file, due_on=in_days(30).isoformat())
    assert Work.objects.get() == found
    do_what_waits()
    page = client.get(found.get_absolute_url()).content.decode()
    assert "march.csv is taken in: Order 0001. Confirm what is right." in page
    assert f'href="{Order.objects.get().get_absolute_url()}">See what it made</a>' in page
    assert Order.objects.get().due_on == in_days(30)


def test_a_long_file_that_is_read_otherwise_meanwhile_is_not_taken_in(client, long_file):
    pressed(client, long_file)
    file = CustomersFile.objects.get()
    taking.choose(file=file, choices={**file.choices, "left_out": "2"})
    do_what_waits()
    assert (Work.objects.get().state, Order.objects.count()) == ("failed", 0)
    assert Work.objects.get().said.startswith("How the file is read was changed meanwhile.")


def test_a_long_file_that_can_not_be_made_any_more_says_each_reason(client, long_file):
    pressed(client, long_file)
    Fabric.objects.update(offered=False)
    do_what_waits()
    assert (Work.objects.get().state, Order.objects.count()) == ("failed", 0)
    assert "is not offered any more. Ask the customer for another fabric." in Work.objects.get().said


def test_a_long_file_that_is_put_away_meanwhile_says_so(client, long_file):
    pressed(client, long_file)
    CustomersFile.objects.all().delete()
    do_what_waits()
    assert Work.objects.get().said == "The file was put away meanwhile. Choose it again."
