"""What a blind takes off the shelf, counted by hand. The parts list is common practice, no source."""

import pytest

from calc.components import components
from materials.parts import Part, parts, total
from tests.headrails import SPLIT_1830


def shelf(**changed):
    spec = {"fixing": "top", "bottom": "chain", **SPLIT_1830, **changed}
    return parts(spec=spec, components=components(spec))


def test_a_split_blind_takes_a_lead_carrier_and_eleven_others_of_each_hand():
    found = shelf()
    for hand in ("left", "right"):
        assert found[Part("carrier", f"{hand}, 89 mm")] == 11
        assert found[Part("lead carrier", f"{hand}, 89 mm")] == 1
    assert found[Part("link", "89 mm")] == 24
    assert found[Part("control end set", "left")] == 1


def test_every_part_of_a_looped_split_blind():
    # By hand: rail 1830 - 10 - 6, rod 9 less; cord 2 x (1814 + 998); 24 vanes of 1616; bottom chain 2 x 2 x 11 x 80.
    assert {str(part): quantity for part, quantity in shelf().items()} == {
        "headrail": 1814,
        "tilt rod": 1805,
        "control end set, left": 1,
        "idle end set": 1,
        "end cover": 2,
        "rod retainer": 1,
        "rail stop": 2,
        "carrier, left, 89 mm": 11,
        "lead carrier, left, 89 mm": 1,
        "carrier, right, 89 mm": 11,
        "lead carrier, right, 89 mm": 1,
        "link, 89 mm": 24,
        "spacer tube, 25 mm": 2,
        "cord": 5624,
        "ball chain, metal": 326,
        "tensioner": 1,
        "warning tag": 2,
        "vane fabric, 89 mm": 38784,
        "hanger, 89 mm": 24,
        "bottom weight, 89 mm, chain": 24,
        "bottom chain": 3520,
        "bracket, top fix": 3,
    }


def test_a_wand_blind_has_two_idle_ends_and_neither_cord_nor_chain():
    found = shelf(operation="wand", loop_control=None, chain=None, draw="one_way")
    names = {part.name for part in found}
    assert found[Part("idle end set")] == 2
    assert found[Part("wand", "1000 mm")] == 1
    assert not names & {"cord", "ball chain", "tensioner", "warning tag", "control end set"}


@pytest.mark.parametrize(("device", "part"), [("breakaway", "breakaway joint"), ("weight", "loop weight")])
def test_each_safety_device_is_on_the_list(device, part):
    found = {one.name for one in shelf(loop_control=device, market="australia", installation_height_mm=2600)}
    assert part in found
    assert "tensioner" not in found


def test_a_chainless_blind_takes_no_bottom_chain():
    assert "bottom chain" not in {part.name for part in shelf(bottom="chainless")}


def test_parts_of_two_blinds_add_up():
    spec = {"fixing": "top", "bottom": "chain", **SPLIT_1830}
    one, two = total([(spec, components(spec))]), total([(spec, components(spec))] * 2)
    assert two == {part: 2 * quantity for part, quantity in one.items()}
