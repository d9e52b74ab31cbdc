"""An order line as the calculations read it."""

from decimal import Decimal

import pytest

from calc.components import components
from orders.models import OrderLine
from orders.spec import number, spec_of
from tests import factories

pytestmark = pytest.mark.django_db


def test_a_line_gives_every_value_that_the_calculations_read():
    line = factories.line(width_mm=Decimal("1830.5"), control_drop_mm=Decimal("900.0"), installation_height_mm=2400)
    assert spec_of(line, market="en13120") == {
        "system": "demo-38",
        "width_mm": 1830.5,
        "drop_mm": 1600,
        "size_basis": "recess",
        "vane_width_mm": 89,
        "draw": "split",
        "hand": "left",
        "operation": "cord_chain",
        "loop_control": "tensioner",
        "chain": "metal",
        "control_drop_mm": 900,
        "measured_chain_mm": None,
        "installation_height_mm": 2400,
        "market": "en13120",
        "fixing": "top",
        "bottom": "chain",
        "fabric_g_per_m2": 240,
    }


def test_a_wand_blind_says_nothing_of_a_loop():
    spec = spec_of(factories.line(operation="wand", draw="one_way"), market="canada")
    assert (spec["loop_control"], spec["chain"]) == (None, None)


def test_a_line_that_is_still_being_typed_leaves_open_what_it_does_not_say():
    spec = spec_of(OrderLine(), market="en13120")
    asked = ("system", "width_mm", "size_basis", "draw", "hand", "operation", "fabric_g_per_m2")
    assert [spec[name] for name in asked] == [None] * len(asked)
    assert components(spec, systems={})["rail_cut_mm"] is None


@pytest.mark.parametrize(("stored", "plain"), [("1830.0", 1830), ("1830.5", 1830.5), ("0.1", 0.1)])
def test_a_stored_length_is_read_exactly(stored, plain):
    assert number(Decimal(stored)) == plain


def test_what_is_read_back_from_the_database_is_what_was_entered():
    order = factories.order(lines=[{"width_mm": Decimal("1210.5")}])
    line = order.lines.in_order().get()
    assert spec_of(line, market=order.market)["width_mm"] == 1210.5
    figures = components(spec_of(line, market=order.market))
    # Recess clearance 10 mm, invented for the demo system.
    assert figures["finished_width_mm"] == 1200.5
