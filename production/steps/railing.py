"""The steps at railing: the rail cut, threaded and checked."""

from ..words import N_, _
from .hands import SIDES, bunch_hands, looped
from .step import COUNT, DO, KNIFE, MEASURE, TICK, Step
from .tape import tape_decides

SAW = N_("Saw: eye protection, rail clamped, hands clear of the blade.")
DRILL = N_("Drill: eye protection, part clamped, drill slowly. Gloves off near the bit.")
SILICONE = N_("Silicone spray: ventilate; it makes the floor slippery.")
LONG_RAIL = N_("Long rail: carry and turn it with two people.")
LONG_RAIL_MM = 2500  # common practice, no source: past this a rail whips when one person turns it
THREADED = {"left": N_("{count} left carriers"), "right": N_("{count} right carriers")}
THREADED_LEAD = {"left": N_("left lead carrier"), "right": N_("right lead carrier")}


def _tubes(components, tape_class):
    """Tubes are short: their tolerance is often no more than the tape's own error, and then a caliper must tell."""
    tubes, tolerances = components["spacer_tubes_mm"], components["tolerances_mm"]["spacer_tubes_mm"]
    sides = ("left", "right")
    decided = all(
        tolerances[side] is not None and tape_decides(tubes[side], tolerances[side], tape_class)
        for side in sides
        if tubes[side]
    )
    sizes = [f"{tubes[side]}" + (f" ±{tolerances[side]}" if tolerances[side] else "") for side in sides]
    return Step(
        key="tubes",
        kind=TICK,
        text=_("Check the tubes with a tape: {sizes} mm.")
        if decided
        else _("Check the tubes with a caliper: {sizes} mm."),
        values={
            "sizes": sizes[0]
            if sizes[0] == sizes[1]
            else _("left {left}, right {right}", **dict(zip(sides, sizes, strict=True)))
        },
    )


def threading_order(spec, components):
    """What goes on the tilt rod, from the control end: tubes by length, carriers by count and hand, lead carriers."""
    near, far = spec["hand"], {"left": "right", "right": "left"}[spec["hand"]]
    tubes, carriers = components["spacer_tubes_mm"], components["carriers"]

    def bunch(hand, *, lead_first):
        parts = [_(THREADED[hand], count=carriers[hand] - 1), _(THREADED_LEAD[hand])]
        return parts[::-1] if lead_first else parts

    middle = {
        "one_way": lambda: bunch(near, lead_first=False),
        "reverse": lambda: bunch(far, lead_first=True),
        "split": lambda: bunch(near, lead_first=False) + bunch(far, lead_first=True),
    }[spec["draw"]]()
    return [_("{length} mm tube", length=tubes[near]), *middle, _("{length} mm tube", length=tubes[far])]


def railing(spec, components, tape_class):
    long_rail = (_(LONG_RAIL),) if components["rail_cut_mm"] > LONG_RAIL_MM else ()
    return [
        *_cut(spec, components, tape_class, long_rail),
        *_carriers(spec, components),
        *_threaded(spec, components, long_rail),
        *_checked(spec, components),
    ]


def _cut(spec, components, tape_class, long_rail):
    yield Step(
        key="cut",
        kind=DO,
        text=_("Cut the rail to {rail} mm and the tilt rod to {rod} mm. Deburr both."),
        values={"rail": components["rail_cut_mm"], "rod": components["tilt_rod_cut_mm"]},
        cautions=(_(SAW), *long_rail),
    )
    yield _tubes(components, tape_class)
    if looped(spec):
        yield Step(
            key="control_end",
            kind=TICK,
            text=_("Control end set, {hand} hand, pinned to the rod. It spins freely."),
            values={"hand": _(SIDES[spec["hand"]])},
            cautions=(_(DRILL),),
        )


def _carriers(spec, components):
    split = spec["draw"] == "split"
    for hand in bunch_hands(spec):
        yield Step(
            key=f"carriers_{hand}",
            kind=COUNT,
            text=_("Count the {hand} carriers, lead carrier included."),
            values={"hand": _(SIDES[hand])},
            expected=components["carriers"][hand],
        )
    yield Step(
        key="prepare",
        kind=DO,
        text=_("Lubricate the carriers. Trim each bunch's trailing link flush.")
        if split
        else _("Lubricate the carriers. Trim the bunch's trailing link flush."),
        cautions=(_(SILICONE), _(KNIFE)),
    )
    if looped(spec):
        yield Step(
            key="lead",
            kind=DO,
            text=_("Take the wheels off both lead carriers' outer ends and fit the cord drive.")
            if split
            else _("Take the wheels off the lead carrier's outer end and fit the cord drive."),
        )


def _threaded(spec, components, long_rail):
    hand = _(SIDES[spec["hand"]])
    yield Step(
        key="thread",
        kind=DO,
        text=_("Thread the rod from the {hand}: {order}."),
        values={"hand": hand, "order": ", ".join(threading_order(spec, components))},
    )
    yield Step(key="feed", kind=DO, text=_("Feed it into the rail, no link caught."), cautions=long_rail)
    yield Step(
        key="end_sets",
        kind=TICK,
        text=_("End sets fitted, controls at the {hand}.") if looped(spec) else _("Idle end sets fitted at both ends."),
        values={"hand": hand},
    )


def _checked(spec, components):
    yield Step(
        key="gap",
        kind=MEASURE,
        text=_(
            "Hold {held} carriers back close up at the end of each bunch, draw the rest out to full links. "
            "Measure the clear gap between the lead carriers."
        )
        if spec["draw"] == "split"
        else _(
            "Hold {held} carriers back close up at the end of the bunch, draw the rest out to full links. "
            "Measure the clear gap from the lead carrier to the far tube."
        ),
        values={"held": components["gap_check_held"]},
        expected=components["gap_check_mm"],
        tolerance_mm=components["tolerances_mm"]["gap_check_mm"]["worst_case"],
    )
    yield Step(key="retainer", kind=DO, text=_("Rod retainer on, no end play."))
    yield Step(
        key="stops",
        kind=TICK,
        text=_("{stops} rail stop on the middle side of the anchored carrier; the rest run free.")
        if components["rail_stops"] == 1
        else _("{stops} rail stops, each on the middle side of an anchored carrier; the rest run free."),
        values={"stops": components["rail_stops"]},
    )
