"""The cords that a tablet cuts without a network are those that the server would tell it with one."""

import pytest

from production import bench, route
from production.cords import cords_of
from production.route import RAILING, STRINGING
from tests.factories import person, released, tell, work

pytestmark = pytest.mark.django_db


def test_the_cord_of_the_worked_example():
    # Cut = 2 x (rail + measured chain + 20) = 2 x (1814 + 975 + 20).
    cord = cords_of(blind=released()[0])["975"]
    assert (cord["cut_mm"], cord["drop_mm"], cord["stops"]) == (5618, 995, [])
    assert cord["says"] == {"cut_cord": "Cut the cord to 5618 mm; it will hang 995 mm. Seal both ends."}


def test_a_chain_that_hangs_too_low_has_no_cord_and_the_reason():
    cord = cords_of(blind=released()[0])["981"]
    assert cord["cut_mm"] is None
    assert "a loop may hang 1000 mm" in cord["stops"][0]
    assert cord["says"]["cut_cord"].startswith("Don't cut the cord")


@pytest.mark.parametrize("measured", ["960", "974.5", "979", "990"])
def test_each_row_is_what_the_bench_works_out_once_that_chain_is_entered(measured):
    blind, maker = released()[0], person("maker")
    work(blind, RAILING, by=maker)
    tell(blind, STRINGING, route.START, by=maker)
    row = cords_of(blind=blind)[measured]
    tell(blind, STRINGING, route.STEP, by=maker, key="chain", value=measured)
    here = bench.read(blind=blind, station=STRINGING)
    assert (row["cut_mm"], row["drop_mm"]) == (here.components["cord_cut_mm"], here.components["cord_drop_mm"])
    assert row["stops"] == [found["message"] for found in here.refusals]
    assert row["says"] == {found.step.key: str(found.step) for found in here.steps if found.step.follows}


def test_a_wand_has_no_cord():
    assert cords_of(blind=released(lines=[{"operation": "wand"}])[0]) == {}
