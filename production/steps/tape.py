"""Whether the workshop's tape can decide what a step asks for."""

from dataclasses import replace

from calc.tolerance import can_decide

from ..words import _
from .step import MEASURE


def with_tape(step, tape_class):
    """The step with the tape that it is measured by, and a word where that tape can decide nothing."""
    if step.kind != MEASURE:
        return step
    step = replace(step, tape_class=tape_class)
    if step.tolerance_mm is None or tape_decides(step.expected, step.tolerance_mm, tape_class):
        return step
    said = _(
        "The tape errs by {tape} mm, the tolerance is {tolerance} mm: measure with better.",
        tape=step.tape_error_mm,
        tolerance=step.tolerance_mm,
    )
    return replace(step, cautions=(*step.cautions, said))


def tape_decides(length_mm, tolerance_mm, tape_class):
    return can_decide(tolerance_mm=tolerance_mm, length_mm=length_mm, tape=tape_class)
