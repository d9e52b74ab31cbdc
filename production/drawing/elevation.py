"""What every view along the whole rail shares: its scale, which side is which, and the counts under the bunches."""

from ..words import N_, _
from .dimensions import Dimension
from .geometry import LEFT, RIGHT, Layout
from .pen import Label, figure_text
from .rail import Scale, letter_of

SEEN = N_("seen from the room, mm")
AT_THE_SIDE = {
    ("controls", LEFT): N_("controls left"),
    ("controls", RIGHT): N_("controls right"),
    ("gathers", LEFT): N_("gathers left"),
    ("gathers", RIGHT): N_("gathers right"),
}


def scale_of(sheet, layout: Layout) -> Scale:
    """The blind between its two margins: the loops hang in the margin at the controls, the drop in the other."""
    left, right = sheet.loop_margin, sheet.drop_margin
    if layout.hand == RIGHT:
        left, right = right, left
    return Scale(width_mm=layout.width, left=left, right=sheet.width - right)


def headline(pen, layout, spec, *, seen=SEEN):
    """Which side is which, at its place. Returns the y below it."""
    sheet = pen.sheet
    y = sheet.text * 1.1
    which = "controls" if layout.controls else "gathers" if spec["draw"] == "one_way" else ""
    if which:
        hand = layout.hand
        x, anchor = (1, "start") if hand == LEFT else (sheet.width - 1, "end")
        pen.text(x, y, _(AT_THE_SIDE[which, hand]), bold=True, anchor=anchor)
        pen.text(sheet.width - x, y, _(seen), anchor="end" if hand == LEFT else "start")
    else:
        pen.text(sheet.width - 1, y, _(seen), anchor="end")
    return y + sheet.text * 0.5


def counts(pen, layout, scale, *, top):
    """A brace under each bunch with its count and letter."""
    sheet = pen.sheet
    for hand in layout.bunch_hands:
        bunch = layout.bunch(hand)
        x0, x1 = scale(bunch[0].left), scale(bunch[-1].right)
        with pen.group(f"figure of-{hand}", figure=f"carriers.{hand}"):
            brace(pen, x0, x1, y=top + sheet.arrow * 0.6)
            words = f"{len(bunch)} {letter_of(hand)}"
            pen.text(
                (x0 + x1) / 2, top + sheet.arrow + sheet.figure, words, size=sheet.figure, bold=True, anchor="middle"
            )
    return top + sheet.arrow + sheet.figure * 1.2


def stack_dimensions(components, layout, scale):
    """What each drawn bunch covers, from its finished end to its lead carrier."""
    return [
        Dimension(
            x0=scale(0) if hand == LEFT else scale(layout.bunch(hand)[0].left),
            x1=scale(layout.bunch(hand)[-1].right) if hand == LEFT else scale(layout.width),
            label=Label(_("stack"), figure_text(components["stack_mm"][hand])),
            figure=f"stack_mm.{hand}",
            outside=RIGHT if hand == LEFT else LEFT,
        )
        for hand in layout.bunch_hands
    ]


def brace(pen, x0, x1, *, y):
    tick = pen.sheet.arrow * 0.6
    pen.path(f"M{x0:.2f} {y - tick:.2f}V{y:.2f}H{x1:.2f}V{y - tick:.2f}", thick=pen.sheet.hair)
