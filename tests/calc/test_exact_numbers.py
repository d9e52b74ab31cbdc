"""An exact number is an int where it is whole and a Fraction where it is not, and keeps its digits."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calc.rounding import ceil_ratio, exact, exact_text, half, product, ratio, settled, sum_of_products, total
from calc.trace import Trace, figure

numbers = st.fractions(-5000, 5000, max_denominator=1000)


@pytest.mark.parametrize(
    ("over", "under", "quotient"),
    [
        (1814, 2, 907),
        (-1814, 2, -907),
        (7, 2, Fraction(7, 2)),
        (7, -2, Fraction(-7, 2)),
        (2, 4, Fraction(1, 2)),
        (0, 5, 0),
        (Fraction(9, 2), Fraction(3, 2), 3),
        (Fraction(9, 2), 2, Fraction(9, 4)),
        (3, Fraction(4, 3), Fraction(9, 4)),
        (3, Fraction(3, 2), 2),
    ],
)
def test_a_quotient_is_a_whole_number_where_it_comes_out_whole(over, under, quotient):
    assert ratio(over, under) == quotient
    assert type(ratio(over, under)) is type(quotient)


@pytest.mark.parametrize("over", [1, 0, Fraction(1, 2)])
def test_nothing_can_be_shared_among_none(over):
    with pytest.raises(ZeroDivisionError):
        ratio(over, 0)


def test_half_a_carrier_body_is_whole_only_where_the_body_is_even():
    assert (half(13), type(half(13))) == (Fraction(13, 2), Fraction)
    assert (half(14), type(half(14))) == (7, int)


@pytest.mark.parametrize(("over", "least"), [(1, 1), (80, 1), (81, 2), (160, 2), (0, 0), (-1, 0), (-80, -1)])
def test_links_of_80_that_reach_a_length_are_counted_upwards(over, least):
    assert ceil_ratio(over, 80) == least
    assert ceil_ratio(Fraction(over), 80) == least


NOT_NUMBERS = ("", "wide", "1/0", float("inf"), float("nan"), Decimal("Infinity"), Decimal("NaN"))


@pytest.mark.parametrize("typed", [*NOT_NUMBERS, None, [], True])
def test_what_is_no_number_is_refused(typed):
    with pytest.raises(ValueError, match="not a number"):
        exact(typed)


def test_a_whole_number_is_settled_as_an_int():
    assert (settled(Fraction(4, 2)), type(settled(Fraction(4, 2)))) == (2, int)
    assert settled(Fraction(1, 2)) == Fraction(1, 2)
    assert settled(Fraction(-1, 2)) == Fraction(-1, 2)


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (Fraction(12, 4), 3),
        (Fraction(52, 100), "0.52"),
        (Fraction(1, 2), "0.5"),
        (Fraction(-1, 20), "-0.05"),
        (Fraction(-1205, 10), "-120.5"),
        (Fraction(1, 10**12), "0.000000000001"),
        # Past twelve places a ratio is the shorter thing to keep.
        (Fraction(1, 10**13), "1/10000000000000"),
        (Fraction(2, 3), "2/3"),
    ],
)
def test_an_exact_number_is_written_in_digits_where_they_end(number, text):
    assert exact_text(number) == text


def test_a_figure_that_comes_out_whole_leaves_the_working_as_a_whole_number():
    @figure(unit="mm", formula="share * drop_mm")
    def share_mm(*, share, drop_mm):
        return share * drop_mm

    # Three quarters of 2000 mm.
    value = Trace().add(share_mm, share=Fraction(3, 4), drop_mm=2000)
    assert (value, type(value)) == (1500, int)


@given(st.lists(st.tuples(numbers, numbers), min_size=1, max_size=4), st.integers(1, 2000))
def test_a_sum_of_products_is_that_of_fractions(pairs, over):
    found = sum_of_products(*[(settled(one), settled(other)) for one, other in pairs], over=over)
    assert found == sum(one * other for one, other in pairs) / over
    assert type(found) is int or found.denominator > 1


@given(st.lists(numbers, max_size=4))
def test_a_total_is_that_of_fractions(added):
    found = total(*map(settled, added))
    assert found == sum(added)
    assert type(found) is int or found.denominator > 1


@given(numbers, numbers)
def test_a_product_is_that_of_fractions(one, other):
    found = product(settled(one), settled(other))
    assert found == one * other
    assert type(found) is int or found.denominator > 1
