"""The cord for every length that a blind's chain may be measured to, worked out ahead: a tablet without network
looks it up there and works out nothing itself."""

from calc.components import components

from . import route, steps
from .from_calc import said

REACH_MM = 20
STEPS_PER_MM = 2
"""Half millimetres are the finest that a tape is read to: common practice, no source."""
FOLLOWS = "chain"


def cords_of(*, blind):
    """By measured chain, as typed: `cut_mm`, `drop_mm`, what the steps that follow say, and what stops the blind.

    From REACH_MM below the nominal chain to as much above; empty where the blind has no chain.
    """
    nominal_mm = blind.components["chain_drop_mm"]
    if nominal_mm is None:
        return {}
    system = blind.revision.as_system()
    first = max(1, STEPS_PER_MM * (int(nominal_mm) - REACH_MM))
    halves = range(first, STEPS_PER_MM * (int(nominal_mm) + REACH_MM) + 1)
    return {f"{half / STEPS_PER_MM:g}": _cord(blind, half / STEPS_PER_MM, system) for half in halves}


def _cord(blind, measured_mm, system):
    spec = {**blind.spec, "measured_chain_mm": measured_mm}
    figures = components(spec, systems={spec["system"]: system})
    following = steps.steps_for(
        station=route.STRINGING,
        spec=blind.spec,
        components=figures,
        nominal=blind.components,
        tape_class=system.tape_class,
    )
    return {
        "cut_mm": figures["cord_cut_mm"],
        "drop_mm": figures["cord_drop_mm"],
        "says": {step.key: str(step) for step in following if step.follows == FOLLOWS},
        "stops": [said(found["message"]) for found in figures["findings"] if found["severity"] == "refuse"],
    }
