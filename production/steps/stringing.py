"""The steps at stringing: chain, cord and the safety device, or the wand."""

from ..words import N_, _
from .hands import looped
from .step import DO, KNIFE, MEASURE, SAFETY, TICK, Step

HOT_END = N_("Hot cord end: burns. Ventilate; no open flame near fabric.")
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


def stringing(spec, components, nominal):
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
