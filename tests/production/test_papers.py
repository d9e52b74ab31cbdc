"""Printing from the pages: who may, what comes, and what is said where there is nothing to print."""

import re
import subprocess

import pytest
from django.urls import reverse

from tests import factories

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
