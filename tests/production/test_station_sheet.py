"""What a tablet shows of one blind at one station: its figures, steps and verdicts, and nothing else."""

import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from production import route
from production.route import PACKING, RAILING, STRINGING, VANES
from tests.factories import enter_steps, released, tell, work
from tests.tablets import HTMX, figures_on, send, sheet_of, text_of, without_event_numbers

pytestmark = pytest.mark.django_db


def test_railing_shows_the_figures_of_railing_and_no_others(tablet):
    # The worked example of the demo system: 1830 x 1600 recess, split, left, 89 mm.
    assert figures_on(sheet_of(tablet, released()[0], RAILING)) == {
        "Rail": 1814,
        "Tilt rod": 1805,
        "Left carriers": 12,
        "Right carriers": 12,
        "Left tube": 25,
        "Right tube": 25,
        "Gap": 63,
        "Rail stops": 2,
    }


def test_a_one_way_blind_has_carriers_of_one_hand(tablet):
    figures = figures_on(sheet_of(tablet, released(lines=[{"draw": "one_way"}])[0], RAILING))
    assert "Left carriers" in figures
    assert "Right carriers" not in figures


def test_a_carrier_is_drawn_as_a_mark(tablet):
    page = sheet_of(tablet, released()[0], RAILING).content.decode()
    left = re.search(r"Left carriers</dt>.*?</dd>", page, re.DOTALL).group()
    assert left.count("<i") == 12
    assert left.count('class="lead"') == 1


def test_vanes_and_packing_show_theirs(tablet):
    blind = released()[0]
    assert figures_on(sheet_of(tablet, blind, VANES)) == {
        "Vanes": 24,
        "Cut": 1616,
        "Finished": 1546,
        "Fabric": 38.784,
        "Dye lot": None,
    }
    assert figures_on(sheet_of(tablet, blind, PACKING)) == {
        "Vanes": 24,
        "Bottom weights": 24,
        "Brackets": 3,
        "Bottom chain": 3520,
    }


def test_a_wand_blind_has_no_cord_and_no_safety_step_of_a_loop(tablet, maker):
    blind = released(lines=[{"operation": "wand"}])[0]
    work(blind, RAILING, by=maker)
    page = sheet_of(tablet, blind, STRINGING)
    assert figures_on(page) == {"Wands": 2, "Wand": 1000}
    assert "Child safety" not in text_of(page)


def test_the_sheet_heads_with_hand_draw_and_vane_width(tablet):
    assert "LEFT · split · 89 mm" in text_of(sheet_of(tablet, released()[0], RAILING))


def test_the_cord_is_not_cut_before_the_chain_is_measured(tablet, maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    page = sheet_of(tablet, blind, STRINGING)
    assert figures_on(page)["Cord cut"] is None
    assert "5624" not in page.content.decode()  # the cut by the nominal chain stands nowhere, the drawing included
    answer = send(tablet, blind, STRINGING, route.STEP, key="chain", value="975")
    # Cut = 2 x (rail + measured chain + 20) = 2 x (1814 + 975 + 20).
    assert figures_on(answer)["Cord cut"] == 5618
    assert "5618" in re.search(r"<svg.*?</svg>", answer.content.decode(), re.DOTALL).group()


def test_a_chain_that_would_let_the_cord_hang_too_low_stops_the_blind(tablet, maker):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    enter_steps(blind, STRINGING, by=maker, but=("chain",))
    answer = send(tablet, blind, STRINGING, route.STEP, key="chain", value="981")
    assert "a cord drop of 1001 mm; a loop may hang 1000 mm" in text_of(answer)
    assert "Don't cut the cord" in text_of(answer)
    assert figures_on(answer)["Cord cut"] is None
    assert send(tablet, blind, STRINGING, route.FINISH).status_code == 422


@pytest.mark.parametrize("value", ["6000", "9999.9"])
def test_a_chain_measured_beyond_all_bounds_still_shows_the_sheet(tablet, maker, value):
    blind = released()[0]
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    answer = send(tablet, blind, STRINGING, route.STEP, key="chain", value=value)
    assert "Stop." in text_of(answer)
    assert sheet_of(tablet, blind, STRINGING).status_code == 200


def test_a_measured_gap_is_judged_at_once(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    # 63 +-5.2; a class II tape over 100 mm is off by up to 0.5 (MID, directive 2014/32/EU annex X).
    within = send(tablet, blind, RAILING, route.STEP, key="gap", value="64,5")
    assert "Within: 63 ±5.2 mm, and inside it by the tape's own 0.5 mm." in text_of(within)
    doubtful = send(tablet, blind, RAILING, route.STEP, key="gap", value="68")
    assert "Doubtful" in text_of(doubtful)
    assert "Measure again with a better instrument" in text_of(doubtful)
    outside = send(tablet, blind, RAILING, route.STEP, key="gap", value="143")
    assert "Outside 63 ±5.2 mm, by more than the tape's own 0.5 mm. A carrier too few" in text_of(outside)


def test_a_wrong_count_is_told_at_once(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)
    answer = send(tablet, blind, RAILING, route.STEP, key="carriers_left", value="11")
    assert answer.status_code == 200
    assert "Not 12. Count again. The lead carrier counts too" in text_of(answer)
    more = send(tablet, blind, RAILING, route.STEP, key="carriers_left", value="13")
    assert "Not 12. Count again. One was counted twice, is of the other hand, or is too many" in text_of(more)


def test_a_special_instruction_is_acknowledged_before_the_station_is_finished(tablet, maker):
    blind = released(lines=[{"special_instruction": "Metal chain", "concerns": [RAILING]}])[0]
    tell(blind, RAILING, route.START, by=maker)
    enter_steps(blind, RAILING, by=maker, but=("special_instruction",))
    refused = send(tablet, blind, RAILING, route.FINISH)
    assert refused.status_code == 422
    assert "Not acknowledged yet: Special instruction: Metal chain" in text_of(refused)
    send(tablet, blind, RAILING, route.STEP, key="special_instruction", confirmed="yes")
    assert send(tablet, blind, RAILING, route.FINISH).status_code == 200


def test_the_answer_to_an_event_is_the_sheet_that_the_page_shows(tablet):
    blind = released()[0]
    answer = send(tablet, blind, RAILING, route.START)
    page = sheet_of(tablet, blind, RAILING)
    assert without_event_numbers(answer.content.decode()).strip() in without_event_numbers(page.content.decode())


def test_a_sheet_that_has_not_changed_is_answered_by_nothing(tablet, other_maker):
    blind = released()[0]
    url = reverse("station-blind", args=[RAILING, blind.code])
    assert tablet.get(url, {"seen": 1}, **HTMX).status_code == 204
    tell(blind, RAILING, route.START, by=other_maker)
    changed = tablet.get(url, {"seen": 1}, **HTMX)
    assert changed.status_code == 200
    assert 'data-last="Changed elsewhere: Tomasz Okafor at Wed 4 Mar 09:00."' in changed.content.decode()


def test_the_number_of_queries_of_a_sheet_does_not_grow_with_what_was_entered(tablet, maker):
    blind = released()[0]
    tell(blind, RAILING, route.START, by=maker)

    def queries():
        with CaptureQueriesContext(connection) as caught:
            sheet_of(tablet, blind, RAILING)
        return len(caught)

    before = queries()
    enter_steps(blind, RAILING, by=maker)
    assert queries() <= before


def test_a_blind_that_does_not_exist_is_a_missing_page(tablet):
    assert tablet.get(reverse("station-blind", args=[RAILING, "0000990014"])).status_code == 404
