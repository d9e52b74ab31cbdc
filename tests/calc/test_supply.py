"""What a market asks for beside a loop's length stands there for each market, in the order of the work."""

import pytest

from calc import supply
from calc.spec import MARKETS


def test_every_market_has_reminders_and_somebody_who_decides_what_this_tool_can_t():
    assert set(supply.UNDECIDED) == {each.market for each in supply.REMINDERS} == set(MARKETS)
    assert all(undecided and who for undecided, who in supply.UNDECIDED.values())


@pytest.mark.parametrize(
    ("market", "whens"),
    [
        ("en13120", ["fitted", "labelled", "labelled", "packed"]),
        ("australia", ["fitted", "labelled", "packed"]),
        ("canada", ["labelled"] * 6 + ["packed"]),
        ("usa", ["labelled"]),
    ],
)
def test_a_market_s_reminders_are_its_own_in_the_order_fitted_labelled_packed(market, whens):
    found = supply.reminders(market=market)
    assert {each.market for each in found} == {market}
    assert [each.when for each in found] == whens


def test_a_market_that_is_not_listed_has_no_reminders_to_give():
    with pytest.raises(KeyError):
        supply.reminders(market="moon")


def test_every_reminder_says_its_source_and_how_well_it_is_verified():
    for each in supply.REMINDERS:
        assert each.says.endswith((".", ")"))
        assert each.source
        assert each.verified.startswith("Verified")
