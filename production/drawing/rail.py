"""The rail and what rides in it, as every elevation shows it: opened up, to proportion along its length."""

from ..words import N_, mark
from .geometry import CONTROL_SET, END_COVER, IDLE_SET, LEFT, TUBE, Layout
from .pen import Pen

LETTER = {LEFT: N_("L"), "right": N_("R")}
LEAN = {LEFT: -1, "right": 1}


def letter_of(hand):
    """The letter that stands for a hand, on screens and on paper alike."""
    return mark(LETTER[hand])


class Scale:
    """From millimetres along the blind to the drawing's units."""

    def __init__(self, *, width_mm, left, right):
        self.left = left
        self.per_mm = float((right - left) / float(width_mm))

    def __call__(self, mm):
        return self.left + float(mm) * self.per_mm


def draw_rail(pen: Pen, layout: Layout, scale: Scale, *, top):
    """The rail between its end covers, with end sets, tubes, rod, carriers and stops. Returns the rail's lower edge."""
    height = pen.sheet.rail
    with pen.group("rail"):
        _tilt_rod(pen, layout, scale, top=top)
        for piece in layout.pieces:
            _piece(pen, layout, piece, box=(scale(piece.left), top, scale(piece.right) - scale(piece.left), height))
        for y in (top, top + height):
            pen.line(scale(layout.rail.left), y, scale(layout.rail.right), y, thick=pen.sheet.line)
    with pen.group("carriers"):
        for carrier in layout.carriers:
            draw_carrier(pen, carrier, scale, top=top, height=height)
    with pen.group("stops"):
        for carrier in layout.carriers:
            if carrier.anchored:
                draw_stop(pen, carrier, scale, top=top, height=height)
    return top + height


def _piece(pen, layout, piece, *, box):
    """An end cover, tube or end set; what hangs at the rail or rides in it is drawn apart."""
    x, y, width, height = box
    if piece.part == END_COVER:
        pen.solid(x, y - height * 0.12, max(width, 1.2), height * 1.24)
    elif piece.part == TUBE:
        draw_tube(pen, box)
    elif piece.part == CONTROL_SET:
        _control_set(pen, box, outward=-1 if layout.controls == LEFT else 1)
    elif piece.part == IDLE_SET:
        draw_idle_set(pen, box, outward=-1 if piece.middle < layout.width / 2 else 1)


def draw_carrier(pen: Pen, carrier, scale, *, top, height):
    """One carrier at its true place, one mark: hatched by hand; a lead carrier is taller and filled."""
    left, wide = scale(carrier.left), scale(carrier.right) - scale(carrier.left)
    kind = f"carrier carrier-{carrier.hand}"
    if carrier.lead:
        box = (left, top + height * 0.08, max(wide, 1.6), height * 0.84)
        pen.rect(*box, thick=0, fill="currentColor", css_class=f"{kind} carrier-lead")
    elif wide < 2.4:  # too narrow to hatch: one upright mark on its axis
        x, thick = scale(carrier.axis), max(wide * 0.6, 0.5)
        pen.line(x, top + height * 0.24, x, top + height * 0.76, thick=thick, css_class=kind)
    else:
        box = (left, top + height * 0.22, wide, height * 0.56)
        pen.hatched(*box, lean=LEAN[carrier.hand], css_class=f"{kind} ground")


def draw_brackets(pen: Pen, layout: Layout, scale: Scale, *, top):
    """Hooks over the rail where the brackets go. `top` is the rail's upper edge."""
    reach = pen.sheet.rail * 0.26
    with pen.group("figure brackets", figure="brackets"):
        for place in layout.brackets:
            draw_bracket(pen, scale(place), top - reach, deep=reach)


def draw_bracket(pen: Pen, x, y, *, deep):
    wide = pen.sheet.rail * 0.26 * 1.6
    pen.rect(x - wide / 2, y, wide, deep, thick=pen.sheet.hair, fill="currentColor")


def _tilt_rod(pen, layout, scale, *, top):
    y = top + pen.sheet.rail / 2
    pen.line(scale(layout.rod.left), y, scale(layout.rod.right), y, thick=pen.sheet.hair, dash="7 2 2 2")


def draw_tube(pen: Pen, box, *, css_class=None):
    x, y, width, height = box
    pen.ground(x, y + height * 0.34, width, height * 0.32)
    pen.rect(x, y + height * 0.34, width, height * 0.32, thick=pen.sheet.line, css_class=css_class)


def wheel(pen: Pen, layout: Layout, scale: Scale, *, top):
    """Where the chain wheel turns and how large it is drawn: x, y, radius."""
    outward = -1 if layout.controls == LEFT else 1
    radius = pen.sheet.rail * 0.3
    end = scale(0) if outward < 0 else scale(layout.width)
    return end + outward * radius * 1.1, top + pen.sheet.rail * 1.3, radius


def draw_wheel(pen: Pen, layout: Layout, scale: Scale, *, top):
    x, y, radius = wheel(pen, layout, scale, top=top)
    pen.circle(x, y, radius, thick=pen.sheet.line, fill="#fff", css_class="ground")
    pen.circle(x, y, radius * 0.3, thick=0, fill="currentColor")


def _control_set(pen, box, *, outward):
    """A square box that reaches below the rail, with the two cord outlets on its outer side."""
    x, y, width, height = box
    pen.rect(x, y, width, height * 1.3, thick=pen.sheet.line, fill="#fff", css_class="ground")
    outer = x if outward < 0 else x + width
    for share in (0.3, 0.7):
        pen.circle(
            outer - outward * width / 2, y + height * share, min(height * 0.09, width * 0.3), thick=pen.sheet.hair
        )


def draw_idle_set(pen: Pen, box, *, outward, css_class=""):
    """A box rounded on its outer side, with the pin that the cord returns round; no wheel."""
    x, y, width, height = box
    inner, outer = (x + width, x) if outward < 0 else (x, x + width)
    bend, across, down = 1 if outward > 0 else 0, min(width * 0.9, height / 2), height / 2
    start = outer - outward * across
    pen.path(
        f"M{inner:.2f} {y:.2f}H{start:.2f}"
        f"A{across:.2f} {down:.2f} 0 0 {bend} {start:.2f} {y + height:.2f}H{inner:.2f}z",
        thick=pen.sheet.line,
        fill="#fff",
        css_class=f"{css_class} ground".strip(),
    )
    pen.circle((inner + outer) / 2, y + down, min(height * 0.12, width * 0.25), thick=pen.sheet.hair)


def draw_stop(pen: Pen, carrier, scale, *, top, height):
    """A clip up from the rail's floor, on the middle side of the anchored carrier."""
    middle_side = 1 if carrier.hand == LEFT else -1
    x = scale(carrier.right if middle_side > 0 else carrier.left)
    foot = max(pen.sheet.rail * 0.22, 4)
    pen.polygon((x, top + height), (x + middle_side * foot, top + height), (x, top + height * 0.7))
