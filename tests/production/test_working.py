"""How a figure came about: on its page, in place at a station, on paper, and by the chain as it was measured."""

import re

import pytest
from django.urls import reverse

from production import route
from production.figures import LABELS, grouped
from production.workings import signs
from tests.factories import enter_steps, person, released, tell, work
from tests.production.read_pdf import line_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]


def plain(page):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode())).replace("&#x27;", "'")


def working_of(client, blind, name, **query):
    return client.get(reverse("blind-figure", args=[blind.code, name]), query)


def measured(blind, maker, chain_mm=975):
    work(blind, route.RAILING, by=maker)
    tell(blind, route.STRINGING, route.START, by=maker)
    tell(blind, route.STRINGING, route.STEP, by=maker, key="chain", value=chain_mm)


def test_the_rail_s_working_shows_formula_numbers_constants_tolerance_and_source(tablet):
    words = plain(working_of(tablet, released()[0], "rail_cut_mm"))
    assert "Rail, cut 1814 mm ±1.2" in words
    assert "Rail, cut = finished width − 2 × end cover = 1820 − 2 × 3 = 1814 mm" in words
    assert "end cover 3 mm constant of the system" in words
    # ISO 2768-1 class m over 1000 up to 2000 is 1.2; MID class II over 2 m is 0.3 + 2 x 0.2 = 0.7.
    assert "±1.2, class m (ISO 2768-1:1989 table 1, seen in two agreeing copies)." in words
    assert "The tape, class II, errs by 0.7 mm: within up to ±0.5, outside beyond ±1.9" in words
    assert "system demo-38 revision 1" in words


def test_a_number_put_in_leads_to_its_own_working(tablet):
    blind = released()[0]
    page = working_of(tablet, blind, "rail_cut_mm").content.decode()
    assert reverse("blind-figure", args=[blind.code, "finished_width_mm"]) in page
    assert plain(working_of(tablet, blind, "finished_width_mm")).count("width − clearance") == 1


def test_every_figure_of_a_blind_has_a_page(tablet):
    blind = released()[0]
    for group in grouped(blind.components):
        for each in group["figures"]:
            answer = working_of(tablet, blind, each["key"])
            assert answer.status_code == 200
            assert f"{each['value']} {each['unit']}" in plain(answer)


def test_the_gap_check_shows_worst_case_and_root_sum_square(tablet):
    words = plain(working_of(tablet, released()[0], "gap_check_mm"))
    assert "worst case" in words
    assert "1.2 + 0.5 + 0.5 + 20 × 0.15 = 5.2" in words
    assert "√(1.2² + 0.5² + 0.5² + 20 × 0.15²) = 1.546" in words


def test_a_tube_s_working_says_that_the_tape_can_decide_nothing(tablet):
    # ISO 2768-1 class c over 6 up to 30 is 0.5, as much as a class II tape errs over its first metre.
    assert "can decide nothing. Measure with better" in plain(working_of(tablet, released()[0], "spacer_tubes_mm.left"))


def test_the_cord_s_working_uses_the_measured_chain(tablet, maker):
    blind = released()[0]
    before = plain(working_of(tablet, blind, "cord_cut_mm"))
    assert "By the nominal chain. Don't cut by it" in before
    measured(blind, maker)
    after = plain(working_of(tablet, blind, "cord_cut_mm"))
    # 975 measured + 20; 2 x (1814 + 995).
    assert "2 × (1814 + 995) = 5618 mm" in after
    assert "nominal" not in after
    assert "= measured chain = 975 mm" in plain(working_of(tablet, blind, "chain_drop_mm"))
    assert "5618" in plain(tablet.get(reverse("blind", args=[blind.code])))


def test_opened_in_place_it_is_the_part_that_the_page_holds(tablet):
    blind = released()[0]
    url = reverse("blind-figure", args=[blind.code, "span_mm"])
    part = tablet.get(url, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert part.strip() in tablet.get(url).content.decode()


@pytest.mark.parametrize("name", ["rail", "wand_mm", "stack_mm", "<b>"])
def test_a_figure_that_this_blind_has_not_is_missing_in_words(tablet, name):
    blind = released()[0]
    answer = working_of(tablet, blind, name)
    assert answer.status_code == 404
    assert "has no figure called" in plain(answer)


def test_a_blind_that_is_not_there_is_missing_in_words(tablet, db):
    assert tablet.get("/blinds/0412-3/figures/rail_cut_mm/").status_code == 404


def test_from_a_station_the_way_back_leads_to_its_sheet(tablet, client):
    blind = released()[0]
    assert (
        reverse("station-blind", args=["railing", blind.code])
        in working_of(tablet, blind, "rail_cut_mm", at="railing").content.decode()
    )
    client.force_login(person("sales"))
    page = working_of(client, blind, "rail_cut_mm", at="railing").content.decode()
    assert "/stations/railing/" not in page
    assert f'href="{blind.get_absolute_url()}"' in page


def test_a_station_s_figures_and_its_whole_list_lead_to_their_workings(tablet, maker):
    blind = released()[0]
    page = tablet.get(reverse("station-blind", args=["railing", blind.code])).content.decode()
    large = re.findall(r'class="figure-value"[^>]*data-working="([^"]+)"', page)
    assert {"rail_cut_mm", "tilt_rod_cut_mm", "carriers.left", "gap_check_mm"} <= set(large)
    drawn = set(re.findall(r'data-figure="([^"]+)"', page))
    assert len(drawn) > 10
    assert drawn <= set(re.findall(r'data-working="([^"]+)"', page))
    assert "±1.2 class m" in page


def test_the_printed_sheet_has_every_figure_s_name_value_and_formula(tablet, maker):
    blind = released()[0]
    measured(blind, maker)
    answer = tablet.get(reverse("blind-working", args=[blind.code]))
    assert answer["Content-Type"] == "application/pdf"
    text = line_of(answer.content)
    packed = text.replace(" ", "")
    figures = tablet.get(reverse("blind", args=[blind.code])).context["groups"]
    assert sum(len(group["figures"]) for group in figures) > 40
    for group in figures:
        for each in group["figures"]:
            assert re.sub(r"\s+", "", each["label"]) in packed, each["label"]
            numbers = f"={each['working']['numbers']}" if each["working"]["computed"] else ""
            assert f"{numbers}={each['value']}{each['unit']}".replace(" ", "") in packed, each["key"]
    assert "The chain was measured at stringing: 975 mm" in text
    assert "within up to ± 0.5, outside beyond ± 1.9" in text
    assert "class m" in text
    assert "system demo-38 revision 1" in text


def test_the_blind_s_page_leads_to_the_sheet(client):
    client.force_login(person("sales"))
    blind = released()[0]
    assert reverse("blind-working", args=[blind.code]) in client.get(blind.get_absolute_url()).content.decode()


def test_railing_asks_for_a_caliper_where_a_tape_can_decide_nothing(tablet):
    page = plain(tablet.get(reverse("station-blind", args=["railing", released()[0].code])))
    assert "Check the tubes with a caliper: 25 ±0.5 mm." in page


def test_a_looped_blind_cannot_leave_railing_with_its_tubes_unchecked(tablet, maker):
    from production import bench

    blind = released()[0]
    tell(blind, route.RAILING, route.START, by=maker)
    enter_steps(blind, route.RAILING, by=maker, but=("tubes",))
    assert bench.read(blind=blind, station=route.RAILING).problems == [
        "Not confirmed yet: Check the tubes with a caliper: 25 ±0.5 mm."
    ]


def test_signs_are_those_that_people_write():
    assert signs("max(2, ceil(a / b) + 1)") == "the greater of (2, round up (a ÷ b) + 1)"
    assert signs("(a ** 2 + b ** 2) ** 0.5") == "√(a² + b²)"


def test_no_two_figures_share_a_name():
    assert len(set(LABELS.values())) == len(LABELS)
