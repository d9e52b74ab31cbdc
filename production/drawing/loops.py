"""Chain and cord as they hang at the controls, beside the blind."""

from ..words import N_, _
from .geometry import LEFT, Layout
from .pen import Pen, figure_text
from .rail import draw_wheel, wheel

LENGTHS = {"chain_drop_mm": N_("chain"), "cord_drop_mm": N_("cord")}


def draw_loops(pen: Pen, components, layout: Layout, scale, *, top, foot):
    """Chain over its wheel, cord out of its outlets: each as long to the drop as it hangs, as far as the sheet goes."""
    sheet = pen.sheet
    side = -1 if layout.controls == LEFT else 1
    x, y, radius = wheel(pen, layout, scale, top=top)
    floor = top + sheet.rail

    def reach(key):
        share = float(components[key]) / float(components["finished_drop_mm"])
        return floor + min(share, 1) * (foot - floor)

    with pen.group("figure", figure="cord_drop_mm"):
        near, far = x + side * radius * 1.9, x + side * radius * 3.1
        outlet = x - side * radius * 1.2
        for leg, share in ((near, 0.7), (far, 0.3)):
            pen.path(f"M{outlet:.2f} {top + sheet.rail * share:.2f}H{leg:.2f}V{floor:.2f}", thick=sheet.line)
        _loop(pen, near, far, top=floor, foot=reach("cord_drop_mm"))
    with pen.group("figure", figure="chain_drop_mm"):
        _loop(pen, x + radius, x - radius, top=y, foot=reach("chain_drop_mm"), beads=True)
        draw_wheel(pen, layout, scale, top=top)
    return _loop_words(
        pen, components, side=side, y=max(map(reach, ("chain_drop_mm", "cord_drop_mm"))) + sheet.text * 1.3
    )


def _loop(pen, near, far, *, top, foot, beads=False):
    radius = abs(far - near) / 2
    bend = 1 if far < near else 0
    pen.path(
        f"M{near:.2f} {top:.2f}V{foot - radius:.2f}A{radius:.2f} {radius:.2f} 0 0 {bend} {far:.2f} {foot - radius:.2f}"
        f"V{top:.2f}",
        thick=pen.sheet.line * (1.6 if beads else 1),
        dash="0.1 3" if beads else None,
        css_class="beads" if beads else None,
    )


def _loop_words(pen, components, *, side, y):
    """Name and length of each loop in the margin beside the blind, as large as its widest length leaves room for."""
    sheet = pen.sheet
    room = sheet.loop_margin - 1 - sheet.text / 3
    size = min(pen.figure_size(figure_text(components[key]), room=room) for key in LENGTHS)
    x, anchor = (1, "start") if side < 0 else (sheet.width - 1, "end")
    for key, name in LENGTHS.items():
        with pen.group("figure", figure=key):
            pen.text(x, y, _(name), anchor=anchor)
            pen.text(x, y + sheet.figure, figure_text(components[key]), size=size, bold=True, anchor=anchor)
        y += sheet.figure + sheet.text * 1.15
    return y - sheet.text
