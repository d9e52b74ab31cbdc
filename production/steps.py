"""What a maker must do, count, measure and see at each station, for this very blind. Pure: text and figures only.

The steps, their order and their cautions are common practice in the trade, no source. The safety steps follow from
EN 13120:2009+A1:2014 as secondary summaries give it: the device is fitted in the factory and carries its own warning,
a warning stands on the blind's front and on the packaging, and instructions go in the pack. The cautions are
reminders; the site's own risk assessment rules.
"""

from dataclasses import dataclass, field, replace
from decimal import Decimal

from calc.rounding import json_number
from calc.tolerance import can_decide, tape_error_mm

from .route import CHECKING, PACKING, RAILING, STRINGING, VANES
from .words import N_, _

# Kinds of step. DO is guidance; every other kind must be entered before the station can be finished.
DO = "do"
TICK = "tick"
COUNT = "count"
MEASURE = "measure"
NOTE = "note"
SAFETY = "safety"
ACKNOWLEDGE = "acknowledge"
ENTERED = (TICK, COUNT, MEASURE, NOTE, SAFETY, ACKNOWLEDGE)

SAW = N_("Saw: eye protection, rail clamped, hands clear of the blade.")
DRILL = N_("Drill: eye protection, part clamped, drill slowly. Gloves off near the bit.")
KNIFE = N_("Knife: cut away from the hand.")
SILICONE = N_("Silicone spray: ventilate; it makes the floor slippery.")
HOT_END = N_("Hot cord end: burns. Ventilate; no open flame near fabric.")
LONG_RAIL = N_("Long rail: carry and turn it with two people.")
LONG_RAIL_MM = 2500  # common practice, no source: past this a rail whips when one person turns it

TAPE_CLASS = "II"
CALIPER_MM = 0.05  # common practice, no source: what an ordinary caliper errs by


@dataclass(frozen=True, kw_only=True)
class Step:
    """One thing to do, in the language of whoever it was made for; `text` is a pattern filled by `values`.

    `expected` and `tolerance_mm` belong to counts and measures; lengths in millimetres. `follows` is the key of the
    step whose entry this one's figures come from: before that they are only nominal, and not to be worked to. A measure
    that is not `binding` may be off: what follows from it is worked out anew, and only a finding stops the blind. What
    is measured is judged by a tape of `tape_class`.
    """

    key: str
    kind: str
    text: str
    values: dict = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    expected: int | float | None = None
    tolerance_mm: int | float | None = None
    follows: str = ""
    binding: bool = True
    tape_class: str = TAPE_CLASS

    @property
    def must(self):
        return self.kind in ENTERED

    @property
    def tape_error_mm(self):
        """What the tape may err by over the expected length, or None where nothing is measured."""
        if self.kind != MEASURE:
            return None
        return json_number(tape_error_mm(length_mm=self.expected, tape_class=self.tape_class))

    def __str__(self):
        said = self.text.format(**self.values)
        return said[:1].upper() + said[1:]


def steps_for(*, station, spec, components, nominal=None, special_instruction="", concerns=(), tape_class=TAPE_CLASS):
    """The steps of `station` for the blind with this spec and these components, in the order of work.

    `nominal` are the components as released, where the chain has been measured since and `components` follow it.
    `tape_class` is that of the workshop's tapes: where such a tape can decide nothing, the step asks for better.
    """
    if station == STRINGING:
        steps = _stringing(spec, components, nominal or components)
    else:
        build = {RAILING: _railing, VANES: _vanes, CHECKING: _checking, PACKING: _packing}
        steps = build[station](spec, components)
    if station == RAILING:
        steps.insert(1, _tube_step(components, tape_class))
    steps = [_with_tape(step, tape_class) for step in steps]
    if special_instruction and station in concerns:
        steps.insert(
            0,
            Step(
                key="special_instruction",
                kind=ACKNOWLEDGE,
                text=_("Special instruction: {instruction}"),
                values={"instruction": special_instruction},
            ),
        )
    return tuple(steps)


def _with_tape(step, tape_class):
    """The step with the tape that it is measured by, and a word where that tape can decide nothing."""
    if step.kind != MEASURE:
        return step
    step = replace(step, tape_class=tape_class)
    if step.tolerance_mm is None or _tape_decides(step.expected, step.tolerance_mm, tape_class):
        return step
    said = _(
        "The tape errs by {tape} mm, the tolerance is {tolerance} mm: measure with better.",
        tape=step.tape_error_mm,
        tolerance=step.tolerance_mm,
    )
    return replace(step, cautions=(*step.cautions, said))


def _tape_decides(length_mm, tolerance_mm, tape_class):
    return can_decide(tolerance_mm=tolerance_mm, length_mm=length_mm, tape=tape_class)


def _tube_step(components, tape_class):
    """Tubes are short: their tolerance is often no more than the tape's own error, and then a caliper must tell."""
    tubes, tolerances = components["spacer_tubes_mm"], components["tolerances_mm"]["spacer_tubes_mm"]
    sides = ("left", "right")
    decided = all(
        tolerances[side] is not None and _tape_decides(tubes[side], tolerances[side], tape_class)
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


def looped(spec):
    """Whether cord and chain hang from this blind."""
    return spec["operation"] == "cord_chain"


def bunch_hands(spec):
    """The hand of each bunch's carriers: where it gathers."""
    other = {"left": "right", "right": "left"}
    return {
        "split": (spec["hand"], other[spec["hand"]]),
        "one_way": (spec["hand"],),
        "reverse": (other[spec["hand"]],),
    }[spec["draw"]]


DRAWS = {"one_way": N_("one way"), "reverse": N_("reverse"), "split": N_("split")}
SIDES = {"left": N_("left"), "right": N_("right")}
THREADED = {"left": N_("{count} left carriers"), "right": N_("{count} right carriers")}
THREADED_LEAD = {"left": N_("left lead carrier"), "right": N_("right lead carrier")}


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


def _railing(spec, components):
    rail, carriers, split = components["rail_cut_mm"], components["carriers"], spec["draw"] == "split"
    long_rail = (_(LONG_RAIL),) if rail > LONG_RAIL_MM else ()
    steps = [
        Step(
            key="cut",
            kind=DO,
            text=_("Cut the rail to {rail} mm and the tilt rod to {rod} mm. Deburr both."),
            values={"rail": rail, "rod": components["tilt_rod_cut_mm"]},
            cautions=(_(SAW), *long_rail),
        )
    ]
    if looped(spec):
        steps.append(
            Step(
                key="control_end",
                kind=TICK,
                text=_("Control end set, {hand} hand, pinned to the rod. It spins freely."),
                values={"hand": _(SIDES[spec["hand"]])},
                cautions=(_(DRILL),),
            )
        )
    steps += [
        Step(
            key=f"carriers_{hand}",
            kind=COUNT,
            text=_("Count the {hand} carriers, lead carrier included."),
            values={"hand": _(SIDES[hand])},
            expected=carriers[hand],
        )
        for hand in bunch_hands(spec)
    ]
    steps.append(
        Step(
            key="prepare",
            kind=DO,
            text=_("Lubricate the carriers. Trim each bunch's trailing link flush.")
            if split
            else _("Lubricate the carriers. Trim the bunch's trailing link flush."),
            cautions=(_(SILICONE), _(KNIFE)),
        )
    )
    if looped(spec):
        steps.append(
            Step(
                key="lead",
                kind=DO,
                text=_("Take the wheels off both lead carriers' outer ends and fit the cord drive.")
                if split
                else _("Take the wheels off the lead carrier's outer end and fit the cord drive."),
            )
        )
    steps += [
        Step(
            key="thread",
            kind=DO,
            text=_("Thread the rod from the {hand}: {order}."),
            values={"hand": _(SIDES[spec["hand"]]), "order": ", ".join(threading_order(spec, components))},
        ),
        Step(
            key="feed",
            kind=DO,
            text=_("Feed it into the rail, no link caught."),
            cautions=long_rail,
        ),
        Step(
            key="end_sets",
            kind=TICK,
            text=_("End sets fitted, controls at the {hand}.")
            if looped(spec)
            else _("Idle end sets fitted at both ends."),
            values={"hand": _(SIDES[spec["hand"]])},
        ),
        Step(
            key="gap",
            kind=MEASURE,
            text=_(
                "Hold {held} carriers back close up at the end of each bunch, draw the rest out to full links. "
                "Measure the clear gap between the lead carriers."
            )
            if split
            else _(
                "Hold {held} carriers back close up at the end of the bunch, draw the rest out to full links. "
                "Measure the clear gap from the lead carrier to the far tube."
            ),
            values={"held": components["gap_check_held"]},
            expected=components["gap_check_mm"],
            tolerance_mm=components["tolerances_mm"]["gap_check_mm"]["worst_case"],
        ),
        Step(key="retainer", kind=DO, text=_("Rod retainer on, no end play.")),
        Step(
            key="stops",
            kind=TICK,
            text=_("{stops} rail stop on the middle side of the anchored carrier; the rest run free.")
            if components["rail_stops"] == 1
            else _("{stops} rail stops, each on the middle side of an anchored carrier; the rest run free."),
            values={"stops": components["rail_stops"]},
        ),
    ]
    return steps


def in_metres(length_m):
    """A length of fabric as people read it: to the centimetre."""
    return json_number(round(Decimal(str(length_m)), 2))


def _vanes(spec, components):
    vanes = components["vanes"]
    return [
        Step(key="dye_lot", kind=NOTE, text=_("Dye lot of the roll. Every vane comes from this one lot.")),
        Step(
            key="cut",
            kind=DO,
            text=_("Cut {count} vanes to {cut} mm; {fabric} m in all."),
            values={"count": vanes["count"], "cut": vanes["cut_mm"], "fabric": in_metres(vanes["fabric_m"])},
            cautions=(_(KNIFE),),
        ),
        Step(
            key="hem",
            kind=DO,
            text=_("Hem top and bottom; finished length {finished} mm."),
            values={"finished": vanes["finished_mm"]},
        ),
        Step(
            key="vane_length",
            kind=MEASURE,
            text=_("Measure one finished vane."),
            expected=vanes["finished_mm"],
            tolerance_mm=components["tolerances_mm"]["vane_cut_mm"],
        ),
        Step(
            key="weights",
            kind=DO,
            text=_("{count} hangers in, {count} bottom weights in."),
            values={"count": vanes["count"]},
        ),
        Step(key="vane_count", kind=COUNT, text=_("Count the finished vanes."), expected=vanes["count"]),
    ]


DEVICE_STEPS = {
    "tensioner": N_("Tensioner on: cord and chain looped on and pulled home."),
    "breakaway": N_("Breakaway joints fitted in cord and chain; each opens and closes."),
    "weight": N_("Weight on the loop; nothing else joins cord and chain."),
}
TAG_1 = {
    "tensioner": N_("Warning tag 1 on the tensioner."),
    "breakaway": N_("Warning tag 1 at the breakaway joint."),
    "weight": N_("Warning tag 1 on the weight."),
}
DEVICE_SEEN = {
    "tensioner": N_("Seen with your own eyes: the tensioner is on."),
    "breakaway": N_("Seen with your own eyes: the breakaway joints in cord and chain."),
    "weight": N_("Seen with your own eyes: the weight is on."),
}


def _stringing(spec, components, nominal):
    if not looped(spec):
        return [
            Step(key="covers", kind=DO, text=_("End covers on.")),
            Step(
                key="wands",
                kind=TICK,
                text=_("{wands} wand of {length} mm on its lead carrier.")
                if components["wands"] == 1
                else _("{wands} wands of {length} mm, one on each lead carrier."),
                values={"wands": components["wands"], "length": components["wand_mm"]},
            ),
            _tilt_step(),
        ]
    device = spec["loop_control"]
    return [
        Step(
            key="chain",
            kind=MEASURE,
            text=_("Measure how far the chain hangs below the rail."),
            expected=nominal["chain_drop_mm"],
            tolerance_mm=nominal["tolerances_mm"]["chain_drop_mm"],
            binding=False,
        ),
        Step(
            key="cut_cord",
            kind=DO,
            text=_("Cut the cord to {cut} mm; it will hang {drop} mm. Seal both ends.")
            if components["cord_cut_mm"]
            else _("Don't cut the cord: by the chain as measured it would hang too low."),
            values={"cut": components["cord_cut_mm"], "drop": components["cord_drop_mm"]},
            cautions=(_(KNIFE), _(HOT_END)),
            follows="chain",
        ),
        Step(key="thread", kind=DO, text=_("Thread the cord by the picture.")),
        Step(
            key="clamp",
            kind=TICK,
            text=_("Lead carriers clamped with both bunches drawn right back, slack out, no gap in either.")
            if spec["draw"] == "split"
            else _("Lead carrier clamped with the bunch drawn right back, slack out, no gap in it."),
        ),
        Step(key="covers", kind=DO, text=_("End covers on. Chain on its wheel, wheel fixed.")),
        _tilt_step(),
        Step(key="device", kind=SAFETY, text=_(DEVICE_STEPS[device])),
        Step(key="tag_1", kind=SAFETY, text=_(TAG_1[device])),
        Step(key="tag_2", kind=SAFETY, text=_("Cord and chain bundled, warning tag 2 stapled round the bundle.")),
        Step(key="front_warning", kind=SAFETY, text=_("Warning on the front of the blind.")),
    ]


def _tilt_step():
    return Step(key="tilt", kind=TICK, text=_("Tilt turned both ways to its stops until every carrier faces one way."))


def _checking(spec, components):
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


BRACKETS = {
    "top": N_("Count the top-fix brackets in, with their screws."),
    "face": N_("Count the face-fix brackets in, with their screws."),
}


def _packing(spec, components):
    steps = [
        Step(key="vanes_packed", kind=COUNT, text=_("Count the vanes in."), expected=components["vanes"]["count"]),
        Step(
            key="bottom_packed",
            kind=TICK,
            text=_("Bottom weights in, bottom chain {length} mm in all.")
            if components["bottom_chain_mm"]
            else _("Chainless bottom weights in."),
            values={"length": components["bottom_chain_mm"]},
        ),
        Step(
            key="brackets_packed",
            kind=COUNT,
            text=_(BRACKETS[spec["fixing"]]),
            expected=components["brackets"],
        ),
        Step(key="instructions", kind=SAFETY, text=_("Fitting and safety instructions in the pack.")),
    ]
    if looped(spec):
        steps.append(Step(key="pack_warning", kind=SAFETY, text=_("Child-safety warning on the outside of the pack.")))
    steps.append(Step(key="label", kind=TICK, text=_("Pack label on.")))
    return steps
