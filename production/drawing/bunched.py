"""The blind drawn right back, and the headrail on the bench for the gap check."""

from ..words import _
from .dimensions import Dimension, draw_rows, rows_of
from .elevation import brace, counts, headline, scale_of, stack_dimensions
from .geometry import LEFT, Layout
from .pen import Label, Pen, figure_text, text_width
from .rail import draw_brackets, draw_rail


def drawn(pen: Pen, *, spec, components, layout: Layout) -> float:
    """Drawn right back, vanes square to the glass, with what each bunch covers. Returns the height used."""
    sheet, scale = pen.sheet, scale_of(pen.sheet, layout)
    top = headline(pen, layout, spec) + sheet.rail * 0.4
    draw_brackets(pen, layout, scale, top=top)
    floor = draw_rail(pen, layout, scale, top=top)
    foot = floor + sheet.hang * 0.45
    for carrier in layout.carriers:
        pen.line(
            scale(carrier.axis), floor, scale(carrier.axis), foot, thick=sheet.line if carrier.lead else sheet.hair
        )
    stacks = stack_dimensions(components, layout, scale)
    end = draw_rows(pen, rows_of(stacks, sheet), start=foot + 3, direction=1, part_edge=floor + 2)
    return counts(pen, layout, scale, top=end + 4) + 4


def gap_check(pen: Pen, *, spec, components, layout: Layout) -> float:
    """On the bench: some held back, the rest at full links, and the clear gap that proves the count."""
    sheet, scale = pen.sheet, scale_of(pen.sheet, layout)
    gap = Dimension(
        x0=scale(layout.gap.left),
        x1=scale(layout.gap.right),
        label=Label(_("gap"), gap_text(components)),
        figure="gap_check_mm",
    )
    rows = rows_of([gap], sheet)
    top = (headline(pen, layout, spec) if sheet.alone else 0) + len(rows) * sheet.row + 4
    draw_rows(pen, rows, start=top - 4, direction=-1, part_edge=top + sheet.rail)
    floor = draw_rail(pen, layout, scale, top=top)
    end = _held(pen, layout, scale, top=floor + 3)
    return (counts(pen, layout, scale, top=end + 4) if sheet.alone else end) + 4


def gap_text(components) -> str:
    tolerance = components["tolerances_mm"]["gap_check_mm"]["worst_case"]
    return f"{figure_text(components['gap_check_mm'])} ± {figure_text(tolerance)}"


def _held(pen, layout, scale, *, top):
    """Under each bunch, how many are held back and, where there is room for the words, how many are drawn out."""
    sheet = pen.sheet
    y = top + sheet.arrow
    for hand in layout.bunch_hands:
        held = [c for c in layout.bunch(hand) if c.held]
        drawn_out = [c for c in layout.bunch(hand) if not c.held]
        x0, x1 = scale(held[0].left), scale(held[-1].right)
        words = _("hold {count}", count=len(held))
        taken = text_width(words, size=sheet.text, bold=True)
        with pen.group("figure", figure="gap_check_held"):
            brace(pen, x0, x1, y=y)
            x, anchor = (x0, "start") if hand == LEFT else (x1, "end")
            pen.text(x, y + sheet.text * 1.3, words, anchor=anchor, bold=True)
        if drawn_out:
            x0, x1 = scale(drawn_out[0].left), scale(drawn_out[-1].right)
            brace(pen, x0, x1, y=y)
            words = _("{count} at full links", count=len(drawn_out))
            half = text_width(words, size=sheet.text) / 2
            free = abs((x0 + x1) / 2 - x) - taken - sheet.text * 0.5
            if half < min(free, (x1 - x0) / 2):
                pen.text((x0 + x1) / 2, y + sheet.text * 1.3, words, anchor="middle")
    return y + sheet.text * 1.5
