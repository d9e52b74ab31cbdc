"""A blind is changed while a tablet works on it: nobody goes on by the old figures, with a network or without."""

import pytest
from playwright.sync_api import expect

from production import route
from production.models import Stage, StationEvent
from production.route import RAILING
from tests.browser.offline import OFFLINE, away, back, kept, waiting
from tests.factories import released, tell
from tests.production import amending
from tests.tablets import main_button, sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_what_was_entered_without_a_network_for_the_old_figures_is_refused_and_shown(tablet, maker):
    tablet.watch.allow(OFFLINE)
    tablet.watch.allow("answer 422|status of 422")
    (blind,) = released()
    tell(blind, RAILING, route.START, by=maker)
    tablet.goto(sheet(blind))
    kept(tablet, sheet(blind))
    away(tablet)
    tablet.locator("#step-control_end button").click()
    expect(waiting(tablet)).to_contain_text("1 entry is waiting")
    amending.change(blind, width_mm=1700)
    back(tablet)
    expect(tablet.locator("#refused")).to_contain_text("what you entered is for the figures of before")
    expect(tablet.locator(".change-made")).to_contain_text("1700 × 1600 recess")
    expect(main_button(tablet)).to_contain_text("Start railing again")
    assert not StationEvent.objects.of_blind(blind).filter(kind=route.STEP).exists()
    assert Stage.objects.get(blind=blind, station=RAILING).attempt == 2


def test_a_sheet_in_hand_says_wait_as_soon_as_a_change_is_asked_for(tablet, maker):
    (blind,) = released()
    tell(blind, RAILING, route.START, by=maker)
    tablet.goto(sheet(blind))
    expect(main_button(tablet)).to_contain_text("Finish railing")
    amending.ask(blind, width_mm=1700, because="Wider please")
    expect(tablet.locator(".change-asked")).to_contain_text("A change is asked for: wait before cutting.")
