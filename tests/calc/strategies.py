"""Random blinds and random plausible hardware systems for property tests."""

import math
from fractions import Fraction

from hypothesis import strategies as st

from calc.system import DEMO_38

DEMO = DEMO_38.to_dict()


def tenths(low, high):
    """Lengths from `low` to `high`: most of them whole, the others in tenths, as a person would type them."""
    return st.one_of(
        st.integers(math.ceil(low), math.floor(high)),
        st.integers(math.ceil(low * 10), math.floor(high * 10)).map(lambda t: t // 10 if t % 10 == 0 else t / 10),
    )


def text_tenths(low, high):
    """The same, as a hardware system's JSON keeps it exactly."""
    return st.integers(low * 10, high * 10).map(lambda t: t // 10 if t % 10 == 0 else f"{t // 10}.{t % 10}")


@st.composite
def systems(choose):
    """A sound hardware system, as plain constants: none of its values need be the demo's.

    Class f has no tolerance from 2000 to 4000 and a tube of 0 none at all: that is no system to publish, yet one to
    compute with.
    """
    plain = dict(DEMO)
    for name, low, high in (
        ("recess_width_clearance_mm", 0, 20),
        ("recess_drop_clearance_mm", 0, 20),
        ("end_cover_mm", 0, 6),
        ("rod_shortfall_mm", 0, 20),
        ("control_inset_mm", 15, 45),
        ("idle_inset_mm", 10, 40),
        ("carrier_body_mm", 8, 18),
        ("lead_body_mm", 10, 24),
        ("drop_loss_mm", 20, 80),
        ("top_hem_mm", 0, 40),
        ("bottom_hem_mm", 0, 60),
        ("cord_over_chain_tensioner_mm", 0, 40),
        ("cord_over_chain_breakaway_mm", 0, 10),
        ("cord_over_chain_weight_mm", 0, 10),
        ("ball_pitch_mm", 3, 9),
        ("bracket_inset_mm", 20, 170),
        ("bracket_span_mm", 400, 1500),
        ("carrier_g", 3, 20),
        ("rail_rating_kg", 5, 40),
    ):
        plain[name] = choose(text_tenths(low, high))
    plain["control_share"] = choose(st.sampled_from(["0.75", "0.6667", "0.6", 1]))
    plain["wand_share"] = choose(st.sampled_from(["0.75", "0.3333", "0.5", 1]))
    plain["link_tolerance_mm"] = choose(st.sampled_from(["0.15", "0.1", "0.25", 0]))
    plain["rail_kg_per_m"] = choose(st.sampled_from(["0.52", "0.375", 1]))
    for part in ("rail", "tilt_rod", "vane", "spacer_tube", "cord", "chain"):
        plain[f"{part}_class"] = choose(st.sampled_from("fmcv"))
    plain["above_4000_f_mm"] = choose(st.sampled_from(["0.8", 1]))
    plain["vane_89"], plain["vane_127"] = choose(_parts(plain, 89)), choose(_parts(plain, 127))
    return plain


@st.composite
def _parts(choose, plain, vane_width):
    """Links and tubes for one vane width: tubes from the shortest that clears the reveal upwards."""
    carrier, lead = Fraction(plain["carrier_body_mm"]), Fraction(plain["lead_body_mm"])
    control, idle = Fraction(plain["control_inset_mm"]), Fraction(plain["idle_inset_mm"])
    clear = Fraction(vane_width, 2) + 3

    def tube(inset, body):
        least = max(0, math.ceil((clear - inset - body / 2) * 10))
        longer = choose(st.integers(0, 150))
        return str(Fraction(least + longer, 10))

    shortest_link = math.ceil(max(2 * carrier + lead, carrier + 2 * lead)) + 1
    return {
        "link_pitch_mm": choose(text_tenths(max(shortest_link, vane_width - 25), vane_width - 1)),
        "anchored_tube_one_way_mm": tube(min(control, idle), carrier),
        "anchored_tube_reverse_mm": tube(idle, carrier),
        "anchored_tube_split_mm": tube(min(control, idle), carrier),
        "lead_tube_one_way_mm": tube(idle, lead),
        "lead_tube_reverse_mm": tube(control, lead),
        "bottom_weight_g": choose(st.integers(10, 80)),
    }


@st.composite
def blinds(choose, *, width=(360, 5800), drop=(312, 4000), above_drop=None, **fixed):
    """A well-formed blind of the demo system's range.

    Any key can be fixed, to a value or to a choice of values; `above_drop` hangs it that far above its drop, at least
    and at most, where otherwise the height may be unknown or too low.
    """
    fixed = {key: choose(one) if isinstance(one, st.SearchStrategy) else one for key, one in fixed.items()}
    operation = choose(st.sampled_from(["cord_chain", "cord_chain", "cord_chain", "wand"]))
    looped = fixed.get("operation", operation) == "cord_chain"
    drop_mm = choose(tenths(*drop))
    blind = {
        "system": "demo-38",
        "width_mm": choose(tenths(*width)),
        "drop_mm": drop_mm,
        "size_basis": choose(st.sampled_from(["recess", "exact"])),
        "vane_width_mm": choose(st.sampled_from([89, 127])),
        "draw": choose(st.sampled_from(["one_way", "reverse", "split"] if looped else ["one_way", "split"])),
        "hand": choose(st.sampled_from(["left", "right"])),
        "operation": operation,
        "loop_control": choose(st.sampled_from(["tensioner", "breakaway", "weight"])) if looped else None,
        "chain": choose(st.sampled_from(["plastic", "metal"])) if looped else None,
        "control_drop_mm": choose(st.one_of(st.none(), st.none(), tenths(1, 2500))),
        "measured_chain_mm": choose(st.one_of(st.none(), st.none(), tenths(1, 2500))),
        "installation_height_mm": choose(st.one_of(st.none(), tenths(math.floor(drop_mm) - 100, drop_mm + 2000))),
        "market": choose(st.sampled_from(["en13120", "en13120", "australia", "canada", "usa"])),
        "fixing": choose(st.sampled_from(["top", "face"])),
        "bottom": choose(st.sampled_from(["chain", "chainless"])),
        "fabric_g_per_m2": choose(tenths(100, 600)),
    }
    if above_drop is not None:
        blind["installation_height_mm"] = math.ceil(drop_mm) + choose(tenths(*above_drop))
    return blind | fixed
