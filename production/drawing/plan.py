"""The headrail from above, its top laid open: glass at the top of the sheet, the room at the foot.

Lengths along the rail are to proportion; across it the rail and the vanes have a depth of their own.
"""

from itertools import pairwise

from ..words import N_, _
from .closed import tube_dimensions, vane_dimensions, wand_label
from .dimensions import Dimension, draw_rows, rows_of
from .elevation import counts, headline, scale_of, stack_dimensions
from .geometry import CONTROL_SET, END_COVER, IDLE_SET, LEFT, LINK, TUBE, Layout
from .pen import Label, Pen, figure_text
from .rail import Scale, draw_bracket, draw_carrier, draw_idle_set, draw_stop, draw_tube, letter_of

SEEN = N_("seen from above, mm")


def above_closed(pen: Pen, *, spec, components, layout: Layout) -> float:
    """Closed: vanes turned flat, drawn slightly fanned so that each overlap is seen. Returns the height used."""
    sheet, scale = pen.sheet, scale_of(pen.sheet, layout)
    plan = _Plan(pen, layout, scale, top=headline(pen, layout, spec, seen=SEEN), beyond=0)
    plan.open_rail()
    plan.fanned()
    plan.around()
    span = Dimension(
        x0=scale(layout.span.left),
        x1=scale(layout.span.right),
        label=Label(_("span"), figure_text(layout.span.length)),
        figure="span_mm",
    )
    dimensions = [*vane_dimensions(sheet, components, layout, scale), span, _finished(components, layout, scale)]
    return plan.below(components, dimensions, part_edge=plan.floor + 2)


def above_drawn(pen: Pen, *, spec, components, layout: Layout) -> float:
    """Drawn right back: vanes square to the glass, with what each bunch covers. Returns the height used."""
    scale = scale_of(pen.sheet, layout)
    top = headline(pen, layout, spec, seen=SEEN)
    plan = _Plan(pen, layout, scale, top=top, beyond=pen.sheet.rail * 0.6)
    plan.square()
    plan.open_rail()
    plan.around()
    dimensions = [
        *tube_dimensions(components, layout, scale),
        *stack_dimensions(components, layout, scale),
        _finished(components, layout, scale),
    ]
    return plan.below(components, dimensions, part_edge=plan.floor + 2)


def _finished(components, layout, scale):
    return Dimension(
        x0=scale(0),
        x1=scale(layout.width),
        label=Label(_("finished width"), figure_text(components["finished_width_mm"])),
        figure="finished_width_mm",
    )


class _Plan:
    """One headrail from above. `beyond` is how far the vanes reach past the rail towards glass and room."""

    def __init__(self, pen: Pen, layout: Layout, scale: Scale, *, top, beyond):
        self.pen, self.layout, self.scale, self.beyond = pen, layout, scale, beyond
        sheet = pen.sheet
        self.deep, self.tab = sheet.rail * 1.3, sheet.rail * 0.2
        self.pane = top + sheet.text * 0.6
        self.letters = self.pane + sheet.text * 1.5
        self.top = self.letters + sheet.text * 0.3 + max(beyond, self.tab)
        self.middle, self.floor = self.top + self.deep / 2, self.top + self.deep
        self.foot = self.floor + max(beyond, self.tab)
        pairs = tuple(pairwise(layout.carriers))
        bunched = [pair for pair in pairs if pair[0].hand == pair[1].hand] or pairs
        self.step = min(scale(b.axis) - scale(a.axis) for a, b in bunched)

    def open_rail(self):
        """The rail laid open, with what rides in it."""
        with self.pen.group("rail"):
            self._parts()
        with self.pen.group("carriers"):
            for carrier in self.layout.carriers:
                draw_carrier(self.pen, carrier, self.scale, top=self.top, height=self.deep)
        with self.pen.group("stops"):
            for carrier in self.layout.carriers:
                if carrier.anchored:
                    draw_stop(self.pen, carrier, self.scale, top=self.top, height=self.deep)

    def around(self):
        """What stands about the rail: glass, brackets, letters, wands, and the words for the sides."""
        self._glass()
        self._brackets()
        self._letters()
        self._wands()
        self._sides()

    def fanned(self):
        """Flat, centred on their carriers: as long as a vane is wide, one end lifted so that its overlap is seen.

        A blind closes either way; here the end towards the hand is turned to the room. Common practice, no source.
        """
        half, across = self.layout.vane_width / 2, self.scale.per_mm * float(self.layout.vane_width)
        lift = min(self.pen.sheet.rail * 0.19, across * 0.25) * (1 if self.layout.hand == LEFT else -1)
        thick = self.pen.sheet.line * 1.3
        with self.pen.group("vanes"):
            for carrier in self.layout.carriers:
                left, right = self.scale(carrier.axis - half), self.scale(carrier.axis + half)
                low, high = self.middle + lift, self.middle - lift
                if across < thick * 12:  # too small for two edges
                    self.pen.line(left, low, right, high, thick=across * 0.1, css_class="vane")
                    continue
                edges = ((left, low - thick), (right, high - thick), (right, high + thick), (left, low + thick))
                self.pen.polygon(*edges, fill="#fff", thick=self.pen.sheet.hair, css_class="vane ground")

    def square(self):
        """Square to the glass, each under its carrier."""
        thick = min(self.pen.sheet.line * 1.6, self.step * 0.35)
        with self.pen.group("vanes"):
            for carrier in self.layout.carriers:
                x = self.scale(carrier.axis)
                ends = (x, self.top - self.beyond, x, self.floor + self.beyond)
                self.pen.line(*ends, thick=thick, css_class="vane")

    def _glass(self):
        """The pane over the blind's whole width, with the short slanted strokes of glass."""
        pen, tick = self.pen, self.pen.sheet.text * 0.28
        left, right = self.scale(0), self.scale(self.layout.width)
        with pen.group("glass"):
            for y in (self.pane - tick, self.pane + tick):
                pen.line(left, y, right, y, thick=pen.sheet.hair)
            strokes = "".join(
                f"M{left + share * (right - left) + aside * tick:.2f} {self.pane + tick:.2f}l{tick:.2f} {-2 * tick:.2f}"
                for share in (0.25, 0.5, 0.75)
                for aside in (-2.25, -0.75, 0.75)
            )
            pen.path(strokes, thick=pen.sheet.hair)

    def _parts(self):
        """The rail and everything in it but the carriers, each part as long as it is."""
        pen, layout, scale = self.pen, self.layout, self.scale
        left, right = scale(layout.rail.left), scale(layout.rail.right)
        rod = (scale(layout.rod.left), self.middle, scale(layout.rod.right), self.middle)
        pen.line(*rod, thick=pen.sheet.hair, dash="7 2 2 2", css_class="tilt-rod")
        for piece in layout.pieces:
            x, wide = scale(piece.left), scale(piece.right) - scale(piece.left)
            kind = f"part part-{piece.part}"
            if piece.part == END_COVER:
                box = (x, self.top - self.deep * 0.08, wide, self.deep * 1.16)
                pen.rect(*box, thick=pen.sheet.hair, fill="currentColor", css_class=kind)
            elif piece.part == TUBE:
                draw_tube(pen, (x, self.top, wide, self.deep), css_class=kind)
            elif piece.part == LINK:
                y = self.middle + self.deep * 0.12
                pen.line(x, y, x + wide, y, thick=pen.sheet.hair, css_class=kind)
            elif piece.part == CONTROL_SET:
                self._control_set(x, wide, kind)
            elif piece.part == IDLE_SET:
                outward = -1 if piece.middle < layout.width / 2 else 1
                draw_idle_set(pen, (x, self.top, wide, self.deep), outward=outward, css_class=kind)
        pen.rect(left, self.top, right - left, self.deep, thick=pen.sheet.line, css_class="rail-section")

    def _control_set(self, x, wide, kind):
        """A square box with the cord's two outlets, and beyond the end cover the chain wheel seen on its edge."""
        pen, sheet = self.pen, self.pen.sheet
        pen.rect(x, self.top, wide, self.deep, thick=sheet.line, fill="#fff", css_class=f"{kind} ground")
        for share in (0.22, 0.78):
            y = self.top + self.deep * share
            pen.circle(x + wide / 2, y, min(sheet.rail * 0.09, wide * 0.3), thick=sheet.hair)
        outward = -1 if self.layout.controls == LEFT else 1
        end = self.scale(0 if outward < 0 else self.layout.width)
        thick, across = sheet.rail * 0.22, sheet.rail * 0.7
        inner = end + outward * sheet.rail * 0.12
        pen.line(end, self.middle, inner, self.middle, thick=sheet.line)
        left = inner if outward > 0 else inner - thick
        pen.rect(left, self.middle - across / 2, thick, across, thick=sheet.line, fill="#fff", css_class="ground")
        pen.line(left + thick / 2, self.middle - across / 2, left + thick / 2, self.middle + across / 2, dash="0.1 3")

    def _brackets(self):
        """The two jaws of each bracket, at the rail's edges."""
        with self.pen.group("figure brackets", figure="brackets"):
            for place in self.layout.brackets:
                for edge in (self.top - self.tab, self.floor):
                    draw_bracket(self.pen, self.scale(place), edge, deep=self.tab)

    def _letters(self):
        """The hand's letter over every carrier that has room for it."""
        size = self.pen.sheet.text
        if self.step < size * 1.2:
            return
        facing = len(self.layout.leads) > 1
        for carrier in self.layout.carriers:
            x, anchor = self.scale(carrier.axis), "middle"
            if carrier.lead and facing:  # the two lead carriers' letters stand back to back
                outer, back = (carrier.right, -2) if carrier.hand == LEFT else (carrier.left, 2)
                x, anchor = self.scale(outer) + back, "end" if carrier.hand == LEFT else "start"
            with self.pen.group(f"of-{carrier.hand}"):
                self.pen.text(x, self.letters, letter_of(carrier.hand), anchor=anchor, bold=carrier.lead)

    def _wands(self):
        """A wand seen from its end, on the room's side of each lead carrier."""
        if self.layout.controls is not None:
            return
        radius = self.pen.sheet.rail * 0.13
        with self.pen.group("figure", figure="wand_mm"):
            for lead in self.layout.leads:
                y = self.foot + radius * 1.4
                self.pen.circle(
                    self.scale(lead.axis), y, radius, thick=self.pen.sheet.line, fill="#fff", css_class="ground"
                )

    def _sides(self):
        """In the margin away from the controls: which way is the glass, which way the room."""
        pen, sheet = self.pen, self.pen.sheet
        side = 1 if self.layout.hand == LEFT else -1
        x = self.scale(self.layout.width if side > 0 else 0) + side * sheet.arrow * 1.6
        edge, anchor = (x + side * sheet.arrow * 0.7, "start" if side > 0 else "end")
        high, low = self.pane, max(self.foot, self.pane + sheet.text * 3.4)
        pen.line(x, high, x, low, thick=sheet.hair)
        pen.arrow_down(x, high, to=-1)
        pen.arrow_down(x, low, to=1)
        pen.text(edge, high + sheet.text * 0.9, _("glass"), anchor=anchor)
        pen.text(edge, low - sheet.text * 0.1, _("room"), anchor=anchor)

    def below(self, components, dimensions, *, part_edge):
        """Dimension lines on the room's side, then the counts. Returns the height used."""
        pen, sheet = self.pen, self.pen.sheet
        low, high = self.scale(0), self.scale(self.layout.width)
        start = self.foot + 3
        if self.layout.controls is None:
            start += sheet.row + sheet.rail * 0.2
        rows = rows_of(dimensions, sheet, low=low, high=high)
        end = draw_rows(pen, rows, start=start, direction=1, part_edge=part_edge, low=low, high=high)
        if self.layout.controls is None:
            wand_label(pen, components, self.layout, self.scale, y=start - sheet.row * 0.1)
        return counts(pen, self.layout, self.scale, top=end + 4) + 4
