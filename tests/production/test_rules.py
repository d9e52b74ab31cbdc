"""The page of the rules in force: what it says is what is computed with, and the checker sees the rule of the blind."""

import re

import pytest
from django.urls import reverse

from calc import safety, supply
from calc.spec import MARKETS
from orders import roles
from production import route
from tests.factories import make, person, released, tell, work

pytestmark = pytest.mark.django_db


def plain(page):
    words = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode()))
    return words.replace("&#x27;", "'").replace("&gt;", ">")


@pytest.fixture
def page(client):
    client.force_login(person("maker"))
    return client.get(reverse("rules"))


def test_every_rule_stands_there_with_its_source_and_how_well_it_is_verified(page):
    words = plain(page)
    for rule in safety.RULES:
        assert rule.says in words
        assert rule.source in words
        assert rule.verified in words
    for says, _, _ in safety.WAND_RULES.values():
        assert says in words
    assert safety.DECIDES in words


def test_every_market_says_what_is_fitted_labelled_and_packed_what_it_can_t_decide_and_who_must(page):
    words = plain(page)
    for each in supply.REMINDERS:
        assert each.says in words
        assert each.source in words
    for undecided, who in supply.UNDECIDED.values():
        assert undecided in words
        assert who in words


def test_every_market_has_reminders_and_somebody_who_decides():
    assert set(supply.UNDECIDED) == set(MARKETS)
    assert {each.market for each in supply.REMINDERS} == set(MARKETS)
    assert [each.when for each in supply.reminders(market="en13120")] == ["fitted", "labelled", "labelled", "packed"]


def test_the_limits_are_said_in_words_and_formula(page):
    words = plain(page)
    for formula in (
        "installation height − 1500",
        "the greater of (1000, finished drop − 1500)",
        "installation height − 600",
        "2 × finished drop ÷ 3",
        "installation height − 1601",
    ):
        assert formula in words


def test_the_examples_are_worked_out_by_the_rules_themselves(page):
    rows = {(row["drop_mm"], row["height_mm"]): row["cells"] for row in page.context["examples"]}
    columns = page.context["columns"]
    tensioner = columns.index(("en13120", "tensioner"))
    # EN 13120 as three independent secondary summaries agree on it: both branches give 1000 at a drop of 2500.
    assert [rows[drop, None][tensioner]["longest_mm"] for drop in (2200, 2500, 2501, 3000)] == [1000, 1000, 1001, 1500]
    assert rows[2200, 2400][tensioner]["longest_mm"] == 900
    breakaway = columns.index(("en13120", "breakaway"))
    assert rows[2200, 2400][breakaway]["longest_mm"] == 1800
    australia = columns.index(("australia", "weight"))
    assert rows[2200, 2400][australia]["longest_mm"] == 799
    assert rows[2200, None][australia]["refused"]


def test_the_warning_for_bottom_chains_stands_where_the_market_limits_loops(page):
    assert plain(page).count("Bottom chain, warned of:") == len(safety.LIMITS_LOOPS)


def test_canada_s_warning_is_quoted_as_the_regulations_have_it(page):
    # SOR/2019-97 s 15, full text read.
    assert "Immediately remove this product if a cord longer than 22 cm or a loop exceeding 44 cm around" in plain(page)


@pytest.mark.parametrize("role", roles.ROLE_NAMES)
def test_everybody_is_led_to_it(client, role):
    client.force_login(person(role))
    assert f'href="{reverse("rules")}"' in client.get(reverse("start"), follow=True).content.decode()


def at(tablet, blind, station):
    return plain(tablet.get(reverse("station-blind", args=[station, blind.code])))


def test_the_checker_sees_the_rule_in_force_with_its_numbers(tablet, client, maker, checker):
    blind = released()[0]
    make(blind, maker=maker, checker=checker, until=route.STRINGING)
    client.force_login(checker)
    tell(blind, route.CHECKING, route.START, by=checker)
    words = at(client, blind, route.CHECKING)
    assert "Cord hangs 998 mm, chain 978 mm; a loop may hang 1000 mm." in words
    assert "This tool can't decide" in words
    assert supply.UNDECIDED["en13120"][1] in words
    assert "Verified only against secondary summaries" in words
    assert words.index("Seen with your own eyes") < words.index("This tool can't decide")


def test_the_stringing_sheet_has_the_numbers_before_and_after_the_chain_is_measured(tablet, maker):
    blind = released()[0]
    work(blind, route.RAILING, by=maker)
    tell(blind, route.STRINGING, route.START, by=maker)
    assert "Chain hangs 978 mm, nominal; a loop may hang 1000 mm." in at(tablet, blind, route.STRINGING)
    tell(blind, route.STRINGING, route.STEP, by=maker, key="chain", value=975)
    assert "Cord hangs 995 mm, chain 975 mm; a loop may hang 1000 mm." in at(tablet, blind, route.STRINGING)


def test_where_no_length_follows_none_is_named(tablet, maker):
    blind = released(market="australia", lines=[{"bottom": "chainless"}])[0]
    words = at(tablet, blind, route.STRINGING)
    assert "a loop may hang" not in words
    assert "70 N for 10 s" in words


def test_a_wand_blind_s_checker_reads_that_no_loop_hangs(tablet):
    blind = released(lines=[{"operation": "wand"}])[0]
    assert "no loop hangs" in at(tablet, blind, route.CHECKING)


def test_nobody_makes_a_blind_with_a_rule_block_where_no_loop_is_handled(tablet):
    assert "This tool can't decide" not in at(tablet, released()[0], route.RAILING)
