"""The steps at packing: what goes in the pack, counted."""

from ..words import N_, _
from .hands import looped
from .step import COUNT, SAFETY, TICK, Step

BRACKETS = {
    "top": N_("Count the top-fix brackets in, with their screws."),
    "face": N_("Count the face-fix brackets in, with their screws."),
}


def packing(spec, components):
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
