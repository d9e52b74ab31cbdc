"""The stations in each language: chosen on the page, nothing cut off or too small to touch, axe finds no barrier."""

import pytest
from django.conf import settings
from playwright.sync_api import expect

from orders.models import Person
from production import route, tablets
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from script.messages import languages
from tests import factories
from tests.browser.barriers import barriers_in_light
from tests.factories import make, released, tell
from tests.tablets import main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SMALLEST_PX = 44
OVERFLOWING = """() => [...document.querySelectorAll('main *')]
  .filter(each => each.checkVisibility() && !each.closest('svg, .visually-hidden, .sheet-drawing'))
  .filter(each => each.clientWidth && each.scrollWidth > each.clientWidth + 1)
  .filter(each => getComputedStyle(each).textOverflow !== 'ellipsis') // a name, cut on purpose
  .map(each => each.outerHTML.slice(0, 120))"""
TOO_SMALL = """least => [...document.querySelectorAll('main button, main .button, header button, summary, main select')]
  .filter(each => each.checkVisibility()).map(each => [each, each.getBoundingClientRect()])
  .filter(([, box]) => box.height < least - 0.1).map(([each]) => each.outerHTML.slice(0, 120))"""


def said_on_main(page):
    return main_button(page).locator(".say")


def test_a_maker_chooses_a_language_on_the_page_and_keeps_it(tablet, maker):
    blind = released()[0]
    tablet.goto(sheet(blind))
    expect(said_on_main(tablet)).to_have_text("Start railing")
    tablet.get_by_role("button", name="Español").click()
    expect(tablet.locator("html")).to_have_attribute("lang", "es")
    expect(said_on_main(tablet)).to_have_text("Empezar riel")
    main_button(tablet).click()
    # What takes its place is in the same language, and so is what is refused.
    expect(said_on_main(tablet)).to_have_text("Terminar riel")
    tablet.watch.allow("422")
    main_button(tablet).click()
    expect(tablet.locator(".refusal")).to_contain_text("Aún sin contar: Cuente los carros de la izquierda")
    tablet.get_by_label("Mida la separación libre").fill("143")
    tablet.get_by_label("Mida la separación libre").press("Enter")
    expect(tablet.locator("#verdict-gap")).to_contain_text("Fuera de 63 ±5.2 mm")
    tablet.goto("/stations/")
    expect(tablet.get_by_role("heading", level=1)).to_have_text("¿Dónde trabaja?")
    assert Person.objects.get(pk=maker.pk).language == "es"
    tablet.get_by_role("button", name="English").click()
    expect(tablet.get_by_role("heading", level=1)).to_have_text("Where do you work?")


def test_the_cord_is_walked_and_a_working_closed_in_the_language_of_the_page(tablet, maker, other_maker):
    Person.objects.filter(pk=maker.pk).update(language="es")
    blind = released()[0]
    make(blind, maker=maker, checker=other_maker, until=RAILING)
    tell(blind, STRINGING, route.START, by=maker)
    tablet.goto(sheet(blind, STRINGING))
    walk = tablet.locator(".cord-walk")
    expect(walk.get_by_role("status")).to_have_text("Los 6 pasos")
    walk.get_by_role("button", name="Siguiente").click()
    expect(walk.get_by_role("status")).to_have_text("1 de 6: prensar un cabo en el carro guía L")
    tablet.locator("#value-chain_drop_mm").click()
    tablet.locator("#working").get_by_role("button", name="Cerrar").click()
    expect(tablet.locator("#working")).to_be_hidden()


KEPT_IN = """async path => {
  for (const name of (await caches.keys()).filter(each => each.includes('pages'))) {
    const kept = await (await caches.open(name)).match(path);
    if (kept) return new DOMParser().parseFromString(await kept.text(), 'text/html').documentElement.lang;
  }
  return null;
}"""


def wait_for_kept(page, path, language):
    for _ in range(100):
        if page.evaluate(KEPT_IN, path) == language:
            return
        page.wait_for_timeout(100)
    raise AssertionError((path, page.evaluate(KEPT_IN, path)))


def test_what_a_tablet_keeps_for_when_it_has_no_network_follows_the_language(tablet):
    blind = released()[0]
    tablet.goto("/stations/railing/")
    for path in ("/stations/railing/", sheet(blind)):
        wait_for_kept(tablet, path, "en-gb")
    tablet.get_by_role("button", name="Español").click()
    for path in ("/stations/railing/", sheet(blind)):
        wait_for_kept(tablet, path, "es")


def addresses(blinds):
    yield from ("/stations/", "/pin/", *(f"/stations/{place}/" for place in (RAILING, CHECKING)))
    for place in (RAILING, VANES, STRINGING, CHECKING, PACKING):
        yield sheet(blinds[place], place)
    yield f"/blinds/{blinds[RAILING].code}/figures/gap_check_mm/"


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_longer_words_have_room_and_stay_easy_to_touch(watched_page, sign_in, language, size, tmp_path):
    person = factories.person("maker", "checker", name="mara", first_name="Mara", last_name="Lind", language=language)
    colleague = factories.person("maker", "checker", name="tom", first_name="Tomasz", last_name="Okafor")
    line = {"special_instruction": "Cadena de metal", "concerns": [RAILING]}
    blinds = dict(
        zip((RAILING, VANES, STRINGING, CHECKING, PACKING), released(lines=[line] * 5, rush=True), strict=True)
    )
    make(blinds[STRINGING], maker=colleague, checker=person, until=RAILING)
    for place, last in ((CHECKING, STRINGING), (PACKING, CHECKING)):
        make(blinds[place], maker=colleague, checker=person, until=last)
    for place, blind in blinds.items():
        tell(blind, place, route.START, by=person)
    with watched_page(size) as page:
        sign_in(page, person)
        for where in addresses(blinds):
            page.goto(where)
            expect(page.locator("html")).to_have_attribute("lang", language)
            page.screenshot(path=tmp_path / f"{size}{where.replace('/', '-')}.png", full_page=True)
            assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, where
            assert page.evaluate(OVERFLOWING) == [], where
            assert page.evaluate(TOO_SMALL, SMALLEST_PX) == [], where
            assert barriers_in_light(page) == [], where


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_signing_in_on_a_tablet_before_anybody_chose(watched_page, live_server, language, size, tmp_path):
    person = factories.person("maker", name="mara", first_name="Mara", last_name="Lind")
    tablets.set_pin(person=person, pin="2719")
    _tablet, secret = tablets.enrol(name="Riel 1", station=RAILING, by=person, at=factories.AT)
    with watched_page(size) as page:
        cookies = {tablets.COOKIE: secret, settings.LANGUAGE_COOKIE_NAME: language}
        page.context.add_cookies(
            [{"name": name, "value": each, "url": live_server.url} for name, each in cookies.items()]
        )
        page.goto("/")
        expect(page.locator("html")).to_have_attribute("lang", language)
        page.screenshot(path=tmp_path / f"{size}-sign-in.png", full_page=True)
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
        assert page.evaluate(OVERFLOWING) == []
        assert page.evaluate(TOO_SMALL, SMALLEST_PX) == []
        assert barriers_in_light(page) == []
