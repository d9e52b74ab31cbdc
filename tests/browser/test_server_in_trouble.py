"""While the server can't work, a tablet keeps what is entered and sends it later, and a desk keeps what was typed."""

from contextlib import contextmanager

import pytest
from playwright.sync_api import expect

from orders.models import Order
from orders.versions import look
from production import route
from tests import factories
from tests.browser.barriers import barriers_in_light
from tests.browser.offline import kept, sent, waiting
from tests.tablets import events, main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
NOT_NOW = r"\b503\b"


@pytest.fixture
def in_trouble(monkeypatch):
    """Context: every page is answered as while the server is being upgraded."""

    @contextmanager
    def context():
        with monkeypatch.context() as patch:
            patch.setattr(look, "fits", lambda: False)
            yield

    return context


def test_a_tablet_keeps_what_is_entered_says_why_and_sends_it_once(tablet, maker, in_trouble):
    tablet.watch.allow(NOT_NOW)
    blind, other = factories.released(lines=[{"quantity": 2}])
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind))
    with in_trouble():
        main_button(tablet).click()
        expect(waiting(tablet)).to_contain_text("Railwright is being upgraded.")
        expect(waiting(tablet)).to_contain_text("1 entry is waiting on this tablet; it is sent by itself.")
        # The page that it keeps is shown in the place of one that says nothing of the blind.
        tablet.reload()
        expect(tablet.locator("#bench")).to_contain_text(blind.number)
        expect(waiting(tablet)).to_contain_text("Railwright is being upgraded.")
        assert events(blind, route.START) == 0
        assert barriers_in_light(tablet) == []
    sent(tablet)
    expect(waiting(tablet)).to_be_hidden()
    expect(tablet.locator("#refused")).to_be_hidden()
    expect(main_button(tablet)).to_contain_text("Finish railing")
    assert events(blind, route.START) == 1
    assert events(other, route.START) == 0


def test_a_desk_sends_again_what_it_had_typed(page, sign_in, in_trouble):
    page.watch.allow(NOT_NOW)
    sales = factories.person("sales", name="nora")
    caller = factories.customer("Wattle Bay")
    sign_in(page, sales)
    page.goto(f"/orders/new/?customer={caller.pk}")
    page.get_by_label("Note").first.fill('Ring first: "gate" & bell')
    with in_trouble():
        page.get_by_role("button", name="Open the order").click()
        expect(page.get_by_role("alert")).to_contain_text("Railwright is being upgraded.")
        expect(page.locator("main")).to_contain_text("What you just sent was not recorded.")
        assert barriers_in_light(page) == []
        page.get_by_role("button", name="Send it again").click()
        expect(page.get_by_role("alert")).to_contain_text("Railwright is being upgraded.")
        assert Order.objects.count() == 0
    page.get_by_role("button", name="Send it again").click()
    expect(page.locator("h1")).to_contain_text("Order 0001")
    order = Order.objects.get()
    assert (order.customer, order.note) == (caller, 'Ring first: "gate" & bell')


def test_a_page_that_asks_by_itself_says_why_and_goes_on(page, sign_in, in_trouble):
    page.watch.allow(NOT_NOW)
    blind, *_ = factories.released()
    sign_in(page, factories.person("sales", name="nora"))
    page.goto(f"/orders/{blind.order.number}/")
    said = page.locator("#trouble")
    with in_trouble():
        expect(said).to_contain_text("Railwright is being upgraded.")
        expect(page.locator("h1")).to_contain_text("Order 0001")
        assert barriers_in_light(page) == []
    expect(said).to_be_hidden()


def test_figures_beside_what_is_typed_are_said_to_be_old_where_the_server_does_not_answer(page, sign_in):
    page.watch.allow(r"ERR_INTERNET_DISCONNECTED|htmx:(sendError|afterRequest)")
    order = factories.order(lines=[{}])
    sign_in(page, factories.person("sales", name="nora"))
    page.goto(f"/orders/{order.number}/lines/1/")
    said = page.locator("#trouble")
    page.context.set_offline(True)
    page.fill("#id_width_mm", "1700")
    expect(said).to_contain_text("The server does not answer. What you typed is still here")
    expect(page.locator("#id_width_mm")).to_have_value("1700")
    page.context.set_offline(False)
    page.fill("#id_width_mm", "1710")
    expect(said).to_be_hidden()
    expect(page.locator("#figures")).to_contain_text("1710")


def test_a_page_that_was_asked_for_comes_by_itself_once_it_can(page, sign_in, in_trouble):
    page.watch.allow(NOT_NOW)
    sign_in(page, factories.person("sales", name="nora"))
    with in_trouble():
        page.goto("/orders/")
        expect(page.locator("main")).to_contain_text("This page tries again by itself.")
    expect(page.locator("h1")).to_contain_text("Orders", timeout=30_000)
