"""Printing from the pages: who may, what comes, and what is said where there is nothing to print."""

import re
import subprocess

import pytest
from django.urls import reverse

from orders.models import Work
from production import labels, printing, route
from production.models import Blind, Stage
from tests import factories
from tests.production.read_pdf import text_of
from tests.worked import do_what_waits

pytestmark = [pytest.mark.django_db, pytest.mark.once]

OF_BLIND = ("ticket", "rail-label", "pack-label")
OF_ORDER = ("order-tickets", "order-labels")
MAY_PRINT = ("sales", "maker", "checker", "manager")


def page_count(answer):
    told = subprocess.run(["pdfinfo", "-"], input=answer.content, capture_output=True, check=True).stdout.decode()
    return int(re.search(r"^Pages: +(\d+)", told, re.MULTILINE)[1])


@pytest.fixture
def blinds():
    return factories.released(lines=[{"quantity": 2}])


def urls(blind):
    return [reverse(name, args=[blind.code]) for name in OF_BLIND] + [
        reverse(name, args=[blind.order.number]) for name in OF_ORDER
    ]


@pytest.mark.parametrize("role", MAY_PRINT)
def test_whoever_sells_makes_checks_or_manages_may_print(client, blinds, role):
    client.force_login(factories.person(role))
    for url in urls(blinds[0]):
        assert client.get(url).status_code == 200, url


def test_others_are_refused_and_strangers_are_asked_to_sign_in(client, blinds):
    for url in urls(blinds[0]):
        assert client.get(url).status_code == 302
    client.force_login(factories.person("administrator"))
    for url in urls(blinds[0]):
        assert client.get(url).status_code == 403, url


@pytest.mark.parametrize(
    ("name", "pages"), [("ticket", 1), ("rail-label", 1), ("pack-label", 1), ("order-tickets", 2), ("order-labels", 4)]
)
def test_a_paper_comes_as_a_pdf_with_a_name_that_says_what_it_is(client, blinds, name, pages):
    client.force_login(factories.person("maker"))
    blind = blinds[1]
    key = blind.code if name in OF_BLIND else blind.order.number
    answer = client.get(reverse(name, args=[key]))
    assert answer["Content-Type"] == "application/pdf"
    number = blind.number if name in OF_BLIND else f"{blind.order.number:04d}"
    assert answer["Content-Disposition"] == f'inline; filename="{name.removeprefix("order-")}-{number}.pdf"'
    assert "no-store" in answer["Cache-Control"]
    assert answer.content.startswith(b"%PDF-")
    assert page_count(answer) == pages


def test_a_ticket_is_found_by_the_number_that_people_type(client, blinds):
    client.force_login(factories.person("maker"))
    assert client.get(reverse("ticket", args=[blinds[0].number])).status_code == 200


def test_an_order_not_yet_released_says_so(client):
    order = factories.order(lines=[{}])
    client.force_login(factories.person("sales"))
    answer = client.get(reverse("order-tickets", args=[order.number]))
    assert answer.status_code == 404
    assert "Release it first" in answer.content.decode()


def test_a_code_that_names_no_blind_is_not_found(client, blinds):
    client.force_login(factories.person("sales"))
    assert client.get(reverse("ticket", args=["0412-3"])).status_code == 404
    assert client.get(reverse("ticket", args=["nonsense"])).status_code == 404
    answer = client.get(reverse("order-labels", args=[9999]))
    assert answer.status_code == 404
    assert "There is no order 9999" in answer.content.decode()


def test_papers_are_only_read(client, blinds):
    client.force_login(factories.person("sales"))
    for url in urls(blinds[0]):
        assert client.post(url).status_code == 405


@pytest.mark.parametrize(("name", "pages"), [("order-tickets", 2), ("order-labels", 4)])
def test_papers_of_many_blinds_are_laid_out_outside_the_request_and_kept(client, blinds, name, pages, monkeypatch):
    monkeypatch.setattr(printing, "AT_ONCE", {"tickets": 1, "labels": 1})
    client.force_login(factories.person("maker"))
    address = reverse(name, args=[blinds[0].order.number])
    page = client.get(address, follow=True)
    found = Work.objects.get()
    assert page.redirect_chain == [(found.get_absolute_url(), 302)]
    assert "0 of 2" in page.content.decode()
    client.get(address)
    assert Work.objects.get() == found
    do_what_waits()
    result = reverse("work-result", args=[found.pk])
    assert result in client.get(found.get_absolute_url()).content.decode()
    answer = client.get(result)
    kind = name.removeprefix("order-")
    assert (answer["Content-Type"], page_count(answer)) == ("application/pdf", pages)
    assert answer["Content-Disposition"] == f'inline; filename="{kind}-{blinds[0].order.number:04d}.pdf"'


def test_papers_whose_blinds_are_all_taken_off_meanwhile_say_so(client, blinds, monkeypatch):
    monkeypatch.setattr(printing, "AT_ONCE", {"tickets": 1, "labels": 1})
    client.force_login(factories.person("sales"))
    client.get(reverse("order-tickets", args=[blinds[0].order.number]))
    Stage.objects.update(state=route.OFF)
    do_what_waits()
    assert Work.objects.get().said.startswith("There is nothing to print")


def test_labels_are_counted_as_they_are_laid_out_and_come_out_the_same_in_parts(monkeypatch):
    blinds = factories.released(lines=[{"quantity": 5}])
    told, every = [], Blind.objects.of_order(blinds[0].order)
    monkeypatch.setattr(labels, "LABELS_AT_ONCE", 2)
    parts = labels.labels_pdf(blinds=every, at=factories.AT, step=told.append)
    monkeypatch.setattr(labels, "LABELS_AT_ONCE", 20)
    whole = labels.labels_pdf(blinds=every, at=factories.AT)
    assert told == [0, 1, 2, 3, 4, 5]
    assert text_of(parts) == text_of(whole)
