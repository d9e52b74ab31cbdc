"""Two tablets that show the same blind in hand, both pressing Finish before either has heard of the other."""

import re

import pytest
from playwright.sync_api import expect

from production import route
from production.models import Stage
from production.route import RAILING, STRINGING
from tests.browser.waiting import until
from tests.factories import enter_steps, released, tell
from tests.tablets import events, main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.on_both, pytest.mark.django_db(transaction=True)]


def hears_nothing_more(page):
    """What the page asks of the workshop by itself is not answered from now on; what is pressed still is."""
    page.watch.allow("failed request: GET|htmx:|409|ERR_")
    page.route("**/*", lambda asked: asked.abort() if asked.request.method == "GET" else asked.continue_())


def test_one_finish_is_recorded_and_the_other_tablet_is_told_that_it_is_done(tablet, other_tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    enter_steps(blind, RAILING, by=maker)
    for page in (tablet, other_tablet):
        page.goto(sheet(blind))
        until(page, "!document.querySelector('.bar').inert")
        expect(main_button(page)).to_contain_text("Finish railing")
    hears_nothing_more(other_tablet)
    main_button(tablet).click()
    expect(tablet).to_have_url(re.compile(f"/stations/{RAILING}/$"))
    main_button(other_tablet).click()
    expect(other_tablet.get_by_role("main")).to_contain_text("It is done there; there is nothing left to do.")
    assert events(blind, route.FINISH) == 1
    stages = {stage.station: stage for stage in Stage.objects.filter(blind=blind)}
    assert (stages[RAILING].state, stages[RAILING].person) == (route.DONE, maker)
    assert stages[STRINGING].state == route.WAITING
