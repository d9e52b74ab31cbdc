"""The same lines for the same customer a moment later are asked about; another order is not."""

import pytest

from orders.entered_again import AGAIN, again

pytestmark = pytest.mark.once

LINES = ["1 recess 1830 x 1600", "2 exact 900 x 1200"]


def test_an_order_like_one_entered_minutes_ago_is_asked_about():
    found = again(number=42, lines=LINES, earlier=[(40, 50, ["x"]), (41, 6, LINES[::-1])])
    assert (found.code, found.number) == (AGAIN, None)
    assert "Order 0041 of the same customer, entered 6 minutes before order 0042, has the same 2 lines" in found.message


@pytest.mark.parametrize(
    ("lines", "earlier"),
    [
        (LINES, [(41, 61, LINES)]),
        (LINES, [(41, 6, LINES[:1])]),
        (LINES, [(41, 6, [*LINES, LINES[0]])]),
        ([], [(41, 6, [])]),
        (LINES, []),
    ],
)
def test_an_order_of_its_own_is_no_slip(lines, earlier):
    assert again(number=42, lines=lines, earlier=earlier) is None
