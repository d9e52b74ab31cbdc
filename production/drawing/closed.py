"""The blind closed, seen from the room: the sizes to cut above, the vanes and what moves them below."""

from ..words import _, ngettext
from .dimensions import Dimension, draw_rows, rows_of
from .elevation import counts, headline, scale_of
from .geometry import LEFT, RIGHT, TUBE, Layout
from .loops import draw_loops
from .pen import Label, Pen, figure_text
from .rail import draw_brackets, draw_rail, letter_of


def closed(pen: Pen, *, spec, components, layout: Layout) -> float:
    """Closed, vanes flat, with the sizes to cut. Returns the height used."""
    sheet, scale = pen.sheet, scale_of(pen.sheet, layout)
    rows = rows_of(_cut_dimensions(sheet, components, layout, scale), sheet)
    top = headline(pen, layout, spec) + len(rows) * sheet.row + sheet.rail * 0.4
    draw_rows(pen, rows, start=top - sheet.rail * 0.4, direction=-1, part_edge=top - 1)
    draw_brackets(pen, layout, scale, top=top)
    floor = draw_rail(pen, layout, scale, top=top)
    foot = floor + sheet.hang
    _vanes(pen, layout, scale, top=floor + sheet.rail * 0.1, foot=foot)
    _drop(pen, components, layout, scale, top=top, foot=foot)
    hung = _controls(pen, components, layout, scale, top=top, foot=foot)
    low, high = scale(0), scale(layout.width)
    below = rows_of(vane_dimensions(sheet, components, layout, scale), sheet, low=low, high=high)
    start = foot + 3 + (sheet.row if layout.controls is None else 0)
    end = draw_rows(pen, below, start=start, direction=1, part_edge=foot - 2, low=low, high=high)
    if layout.controls is None:
        wand_label(pen, components, layout, scale, y=foot + sheet.row * 0.85)
    return max(counts(pen, layout, scale, top=end + 4), hung) + 4


def tube_dimensions(components, layout, scale):
    return [
        Dimension(
            x0=scale(piece.left),
            x1=scale(piece.right),
            label=Label(_("tube"), figure_text(components["spacer_tubes_mm"][side])),
            figure=f"spacer_tubes_mm.{side}",
            outside=RIGHT if side == LEFT else LEFT,
        )
        for side in (LEFT, RIGHT)
        for piece in [layout.piece(TUBE, side=side)]
    ]


def _cut_dimensions(sheet, components, layout, scale):
    """Above the rail, nearest first: tubes, span, rod, rail, the whole blind."""
    tubes = tube_dimensions(components, layout, scale)
    span, rod = layout.span, layout.rod
    long = [
        (span, _("span"), span.length, "span_mm"),
        (rod, _("tilt rod"), components["tilt_rod_cut_mm"], "tilt_rod_cut_mm"),
        (layout.rail, _("rail"), components["rail_cut_mm"], "rail_cut_mm"),
    ]
    lengths = [
        Dimension(x0=scale(part.left), x1=scale(part.right), label=Label(name, figure_text(value)), figure=key)
        for part, name, value, key in long
        if key == "rail_cut_mm" or key in sheet.also
    ]
    whole = Dimension(
        x0=scale(0),
        x1=scale(layout.width),
        label=Label(_("finished width"), figure_text(components["finished_width_mm"])),
        figure="finished_width_mm",
    )
    return [*tubes, *lengths, whole]


def vane_dimensions(sheet, components, layout, scale):
    """Below the vanes: closed pitch, overlap, and the middle overlap of a split blind."""
    first, last = layout.carriers[0], layout.carriers[-1]
    half = layout.vane_width / 2
    found = []
    if (second := layout.carriers[1]).hand == first.hand:
        pitch = Label(_("closed pitch") if sheet.also else _("pitch"), figure_text(components["closed_pitch_mm"]))
        found.append(Dimension(x0=scale(first.axis), x1=scale(second.axis), label=pitch, figure="closed_pitch_mm"))
    before = layout.carriers[-2]
    if before.hand == last.hand:
        overlap = Label(_("overlap"), figure_text(components["overlap_mm"]))
        found.append(
            Dimension(
                x0=scale(last.axis - half),
                x1=scale(before.axis + half),
                label=overlap,
                figure="overlap_mm",
                outside=LEFT,
            )
        )
    if "centre_overlap_mm" in sheet.also and components["centre_overlap_mm"] is not None:
        near, far = layout.leads
        middle = Label(_("middle overlap"), figure_text(components["centre_overlap_mm"]))
        edges = sorted((scale(far.axis - half), scale(near.axis + half)))
        found.append(Dimension(x0=edges[0], x1=edges[1], label=middle, figure="centre_overlap_mm"))
    return found


def _vanes(pen, layout, scale, *, top, foot):
    """Vanes flat across the window, each over its neighbour; broken below, since the drop has a scale of its own."""
    half, sheet = layout.vane_width / 2, pen.sheet
    lefts = [scale(carrier.axis - half) for carrier in layout.carriers]
    right = scale(layout.carriers[-1].axis + half)
    tall = foot - top - 3
    with pen.group("vanes"):
        pen.rect(lefts[0], top + 3, right - lefts[0], tall, thick=sheet.hair, fill="#fff", css_class="ground")
        edges = "".join(f"M{x:.2f} {top + 3:.2f}v{tall:.2f}" for x in lefts[1:])
        hangers = "".join(f"M{scale(carrier.axis):.2f} {top - 2:.2f}v5" for carrier in layout.carriers)
        pen.path(edges + hangers, thick=sheet.hair)
        _letters(pen, layout, scale, top=top)
    _break_line(pen, lefts[0], right, y=(top + 2 * foot) / 3)


def _letters(pen, layout, scale, *, top):
    """The hand's letter on every vane that has room for it."""
    size = pen.sheet.text
    pitch = scale(layout.carriers[1].axis) - scale(layout.carriers[0].axis)
    if pitch < size * 1.2:
        return
    facing = len(layout.leads) > 1
    for carrier in layout.carriers:
        if carrier.lead and layout.controls is None:
            continue  # its wand hangs there
        x, anchor = scale(carrier.axis), "middle"
        if carrier.lead and facing:  # the two lead carriers' letters stand back to back
            x, anchor = (
                (scale(carrier.right) - 2, "end") if carrier.hand == LEFT else (scale(carrier.left) + 2, "start")
            )
        with pen.group(f"of-{carrier.hand}"):
            pen.text(x, top + 3 + size * 1.2, letter_of(carrier.hand), anchor=anchor, bold=carrier.lead)


def _break_line(pen, left, right, *, y):
    """Two zigzags with clear ground between: the drop is not to the rail's scale."""
    tooth = pen.sheet.text * 0.6
    left, right = left - 3, right + 3
    middle = (left + right) / 2
    upper = [(left, y), (middle - tooth, y), (middle - tooth / 2, y - tooth), (middle + tooth / 2, y + tooth)]
    upper += [(middle + tooth, y), (right, y)]
    apart = tooth * 0.9
    lower = [(x, at + apart) for x, at in upper]
    pen.polygon(*upper, *reversed(lower), fill="#fff", css_class="ground")
    for edge in (upper, lower):
        pen.path("M" + "L".join(f"{x:.2f} {at:.2f}" for x, at in edge), thick=pen.sheet.hair)


def _drop(pen, components, layout, scale, *, top, foot):
    """The finished drop, standing in the margin away from the controls."""
    sheet = pen.sheet
    side = 1 if layout.hand == LEFT else -1
    end = scale(layout.width if side > 0 else 0)
    x = end + side * sheet.arrow * 1.6
    with pen.group("figure", figure="finished_drop_mm"):
        for y in (top, foot):
            pen.line(end + side * 2, y, x + side * 3, y, thick=sheet.hair)
        pen.line(x, top, x, foot, thick=sheet.hair)
        pen.arrow_down(x, top, to=-1)
        pen.arrow_down(x, foot, to=1)
        _two_lines(
            pen, _("drop"), components["finished_drop_mm"], x=x, side=side, y=top + sheet.rail + sheet.hang * 0.3
        )
    if "vanes.finished_mm" in sheet.also:
        with pen.group("figure", figure="vanes.finished_mm"):
            y = top + sheet.rail + sheet.hang * 0.78
            _two_lines(pen, _("vane"), components["vanes"]["finished_mm"], x=x, side=side, y=y)


def _two_lines(pen, name, value, *, x, side, y):
    sheet = pen.sheet
    edge, anchor = (x + sheet.arrow * 0.7, "start") if side > 0 else (x - sheet.arrow * 0.7, "end")
    said = figure_text(value)
    size = pen.figure_size(said, room=(sheet.width - edge if side > 0 else edge) - 1)
    pen.text(edge, y, name, anchor=anchor)
    pen.text(edge, y + sheet.figure, said, size=size, bold=True, anchor=anchor)


def _controls(pen, components, layout, scale, *, top, foot):
    """Chain and cord loops in their margin, or the wands at the lead carriers. Returns how far down they reach."""
    if layout.controls is None:
        return _wands(pen, components, layout, scale, top=top + pen.sheet.rail, foot=foot)
    if components["chain_drop_mm"] is None:
        return foot
    return draw_loops(pen, components, layout, scale, top=top, foot=foot)


def _wands(pen, components, layout, scale, *, top, foot):
    sheet = pen.sheet
    share = min(float(components["wand_mm"]) / float(components["finished_drop_mm"]), 1)
    end = top + share * (foot - top)
    with pen.group("figure", figure="wand_mm"):
        for lead in layout.leads:
            x = scale(lead.axis)
            pen.rect(x - sheet.line * 2.4, top, sheet.line * 4.8, end - top, thick=0, fill="#fff", css_class="ground")
            pen.line(x, top, x, end, thick=sheet.line * 2)
            pen.solid(x - sheet.line * 2, end - sheet.text, sheet.line * 4, sheet.text)
    return foot


def wand_label(pen, components, layout, scale, *, y):
    """How many wands of what length, under their feet."""
    sheet = pen.sheet
    count = ngettext("wand", "{count} wands", components["wands"])
    label = Label(count, figure_text(components["wand_mm"]))
    middle = sum(scale(lead.axis) for lead in layout.leads) / len(layout.leads)
    left = min(max(middle - label.width(sheet) / 2, scale(0)), scale(layout.width) - label.width(sheet))
    with pen.group("figure", figure="wand_mm"):
        pen.label(left, y, label)
