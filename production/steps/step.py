"""One step of a station, and the kinds that there are."""

from dataclasses import dataclass, field

from calc.rounding import json_number
from calc.tolerance import tape_error_mm

from ..words import N_

# Kinds of step. DO is guidance; every other kind must be entered before the station can be finished.
DO = "do"
TICK = "tick"
COUNT = "count"
MEASURE = "measure"
NOTE = "note"
SAFETY = "safety"
ACKNOWLEDGE = "acknowledge"
ENTERED = (TICK, COUNT, MEASURE, NOTE, SAFETY, ACKNOWLEDGE)

TAPE_CLASS = "II"
KNIFE = N_("Knife: cut away from the hand.")


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
