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
    alone: bool
    """Whether each view says for itself which side is which and how many; on a ticket they follow one that does."""
    also: frozenset[str]
    """The figures shown beside those that every size shows."""

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
    alone=True,
    also=frozenset(),
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
    alone=True,
    also=frozenset({"span_mm", "tilt_rod_cut_mm", "centre_overlap_mm", "vanes.finished_mm"}),
)
TICKET = Sheet(
    name="ticket",
    width=372,
    text=11,
    figure=14.5,
    rail=20,
    hang=52,
    loop_margin=46,
    drop_margin=52,
    line=1,
    hair=0.55,
    arrow=5.5,
    hatch=4,
    alone=False,
    also=frozenset({"tilt_rod_cut_mm", "centre_overlap_mm"}),
)
SHEETS = {sheet.name: sheet for sheet in (DESK, STATION, TICKET)}
