"""A recess too shallow for its vanes is said at once; a vane square to the glass sweeps its whole width (geometry)."""

from decimal import Decimal

import pytest
from django.urls import reverse

from orders.lines import figured
from orders.recess import recess_findings
from tests import factories


def found(**given):
    return recess_findings(**{"size_basis": "recess", "vane_width_mm": 127, "recess_depth_mm": Decimal(100), **given})


def test_the_warning_says_reach_sweep_depth_and_the_way_out():
    (finding,) = found()
    assert finding["severity"] == "warn"
    for part in ("127 mm", "63.5 mm each way", "100 mm deep", "27 mm or more", "order 89 mm vanes", "face-fix"):
        assert part in finding["message"]


def test_narrow_vanes_are_not_told_to_be_narrower():
    (finding,) = found(vane_width_mm=89, recess_depth_mm=Decimal("70.5"))
    assert "18.5 mm or more" in finding["message"]
    assert "order 89 mm vanes" not in finding["message"]


@pytest.mark.parametrize(
    "given", [{"recess_depth_mm": Decimal(127)}, {"recess_depth_mm": None}, {"size_basis": "exact"}]
)
def test_a_recess_as_deep_as_the_vane_one_not_measured_and_an_exact_size_are_not_warned_of(given):
    assert found(**given) == []


def test_a_tenth_too_shallow_is_too_shallow():
    assert len(found(recess_depth_mm=Decimal("126.9"))) == 1


@pytest.mark.django_db
def test_a_line_with_its_recess_s_depth_warns_on_its_order_and_its_figures_stay():
    order = factories.order(lines=[{"recess_depth_mm": Decimal(60)}])
    (line,) = figured(order=order)
    assert [each["field"] for each in line.warnings] == ["recess_depth_mm"]
    assert line.refusals == []
    assert line.components["rail_cut_mm"] == 1814
    assert "recess_depth_mm" not in line.spec


@pytest.mark.django_db
def test_sales_see_it_as_they_type(client):
    client.force_login(factories.person("sales"))
    order = factories.order(lines=[{"recess_depth_mm": Decimal(60)}])
    page = client.get(reverse("line", args=[order.number, 1])).content.decode()
    assert "the recess is 60 mm deep" in page
    assert 'name="recess_depth_mm" value="60"' in page
