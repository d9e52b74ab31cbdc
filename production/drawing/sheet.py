"""The three sizes of a drawing: beside an order line, at a station, on a ticket."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Sizes in the drawing's own units: pixels at the width it is meant for, on a ticket quarter millimetres."""

    name: str
    width: float
    text: float
    figure: float
    rail: float
    hang: float
    loop_margin: float
    drop_margin: float
    line: float
    hair: float
    arrow: float
    hatch: float
    full: bool
    """Whether every figure is shown, or only those that identify the blind."""

    @property
    def row(self):
        """The height of one row of dimension lines with its labels."""
        return self.figure * 1.15 + 5


DESK = Sheet(
    name="desk",
    width=340,
    text=11,
    figure=13,
    rail=20,
    hang=84,
    loop_margin=46,
    drop_margin=50,
    line=1,
    hair=0.6,
    arrow=5,
    hatch=4,
    full=False,
)
STATION = Sheet(
    name="station",
    width=900,
    text=18,
    figure=26,
    rail=40,
    hang=170,
    loop_margin=96,
    drop_margin=106,
    line=1.5,
    hair=0.9,
    arrow=9,
    hatch=7,
    full=True,
)
TICKET = Sheet(
    name="ticket",
    width=744,
    text=12.5,
    figure=17,
    rail=26,
    hang=96,
    loop_margin=66,
    drop_margin=66,
    line=1.2,
    hair=0.6,
    arrow=7,
    hatch=4.5,
    full=True,
)
SHEETS = {sheet.name: sheet for sheet in (DESK, STATION, TICKET)}
