"""The steps at checking: the finished blind measured, moved, and its safety parts seen."""

from ..words import N_, _
from .hands import DRAWS, SIDES, looped
from .step import COUNT, MEASURE, SAFETY, TICK, Step

DEVICE_SEEN = {
    "tensioner": N_("Seen with your own eyes: the tensioner is on."),
    "breakaway": N_("Seen with your own eyes: the breakaway joints in cord and chain."),
    "weight": N_("Seen with your own eyes: the weight is on."),
}


def checking(spec, components):
    steps = [
        Step(
            key="hand_draw",
            kind=TICK,
            text=_("{hand} hand, {draw} draw, {width} mm vanes: as on the ticket."),
            values={
                "hand": _(SIDES[spec["hand"]]),
                "draw": _(DRAWS[spec["draw"]]),
                "width": spec["vane_width_mm"],
            },
        ),
        Step(key="carrier_count", kind=COUNT, text=_("Count all carriers."), expected=components["carriers"]["total"]),
        Step(
            key="width",
            kind=MEASURE,
            text=_("Measure the finished width over the end covers."),
            expected=components["finished_width_mm"],
            tolerance_mm=components["tolerances_mm"]["rail_cut_mm"],
        ),
        Step(
            key="drop",
            kind=MEASURE,
            text=_("Measure one hung vane, hem to hem."),
            expected=components["vanes"]["finished_mm"],
            tolerance_mm=components["tolerances_mm"]["vane_cut_mm"],
        ),
        Step(key="travel", kind=TICK, text=_("Full travel, both ways, nothing caught.")),
        Step(key="full_tilt", kind=TICK, text=_("Full tilt, both ways, every vane together.")),
    ]
    if looped(spec):
        steps += [
            Step(
                key="loop",
                kind=MEASURE,
                text=_("Measure how far the chain loop hangs below the rail."),
                expected=components["chain_drop_mm"],
                tolerance_mm=components["tolerances_mm"]["chain_drop_mm"],
            ),
            Step(key="device_seen", kind=SAFETY, text=_(DEVICE_SEEN[spec["loop_control"]])),
            Step(key="tags_seen", kind=SAFETY, text=_("Seen with your own eyes: both warning tags are on.")),
            Step(key="front_warning_seen", kind=SAFETY, text=_("Seen with your own eyes: the warning on the front.")),
        ]
    return steps
