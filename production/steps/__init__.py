"""What a maker must do, count, measure and see at each station, for this very blind. Pure: text and figures only.

The steps, their order and their cautions are common practice in the trade, no source. The safety steps follow from
EN 13120:2009+A1:2014 as secondary summaries give it: the device is fitted in the factory and carries its own warning,
a warning stands on the blind's front and on the packaging, and instructions go in the pack. The cautions are
reminders; the site's own risk assessment rules.
"""

from ..route import CHECKING, PACKING, RAILING, STRINGING, VANES
from ..words import _
from .checking import checking
from .hands import looped
from .packing import packing
from .railing import railing
from .step import ACKNOWLEDGE, COUNT, DO, ENTERED, MEASURE, NOTE, SAFETY, TAPE_CLASS, TICK, Step
from .stringing import stringing
from .tape import with_tape
from .vanes import vanes

__all__ = [
    "ACKNOWLEDGE",
    "COUNT",
    "DO",
    "ENTERED",
    "MEASURE",
    "NOTE",
    "SAFETY",
    "TAPE_CLASS",
    "TICK",
    "Step",
    "looped",
    "steps_for",
]


def steps_for(*, station, spec, components, nominal=None, special_instruction="", concerns=(), tape_class=TAPE_CLASS):
    """The steps of `station` for the blind with this spec and these components, in the order of work.

    `nominal` are the components as released, where the chain has been measured since and `components` follow it.
    `tape_class` is that of the workshop's tapes: where such a tape can decide nothing, the step asks for better.
    """
    if station == STRINGING:
        steps = stringing(spec, components, nominal or components)
    elif station == RAILING:
        steps = railing(spec, components, tape_class)
    else:
        steps = {VANES: vanes, CHECKING: checking, PACKING: packing}[station](spec, components)
    steps = [with_tape(step, tape_class) for step in steps]
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
