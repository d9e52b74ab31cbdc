"""The way of the cord, seen from above: in at the controls, along the rail, round the idle end, back to the clamp.

The cord is one loop; its two runs along the rail move opposite ways, so on a split blind each lead carrier is clamped
to a run of its own. Which run is whose is common practice, no source: here the lead carrier of the bunch nearer the
controls holds the room's run.
"""

from ..words import N_, _
from .elevation import headline, scale_of
from .geometry import LEFT, RIGHT, Layout
from .pen import Label, Pen, figure_text
from .rail import Scale, letter_of

TAG_1 = {
    "tensioner": N_("tag 1: tensioner"),
    "breakaway": N_("tag 1: breakaway"),
    "weight": N_("tag 1: weight"),
}
OUT_AT = {LEFT: N_("out at the control end, left"), RIGHT: N_("out at the control end, right")}
ROUND = {
    LEFT: N_("round the idle end, left, back to 1; clamp"),
    RIGHT: N_("round the idle end, right, back to 1; clamp"),
}


def cord(pen: Pen, *, spec, components, layout: Layout) -> float:
    """The cord's way with its stations numbered, loops and safety device beside the list. Returns the height used."""
    sheet, scale = pen.sheet, scale_of(pen.sheet, layout)
    top = headline(pen, layout, spec, seen=N_("seen from above, room below")) + sheet.text * 0.4
    deep = sheet.rail * 2.2
    plan = _Plan(pen, layout, scale, top=top, deep=deep)
    plan.rail()
    plan.carriers()
    words = _legend(pen, spec, components, layout, top=top + deep + sheet.row * 0.4)
    foot = max(words, top + deep + sheet.hang * 0.6)
    plan.run(foot=foot)
    hung = plan.device(spec, foot=foot)
    return max(hung, words) + 4


class _Plan:
    """The rail from above, with the places that the cord passes."""

    def __init__(self, pen: Pen, layout: Layout, scale: Scale, *, top, deep):
        self.pen, self.layout, self.scale, self.top, self.deep = pen, layout, scale, top, deep
        self.out = -1 if layout.controls == LEFT else 1  # towards the controls
        self.room, self.window, self.middle = top + deep * 0.8, top + deep * 0.2, top + deep * 0.5
        near, far = (0, layout.width) if self.out < 0 else (layout.width, 0)
        self.control_end, self.idle_end = scale(near), scale(far)
        leads = sorted(layout.leads, key=lambda lead: abs(scale(lead.axis) - self.control_end))
        self.leads = leads
        unit = pen.sheet.loop_margin
        self.near_leg = self.control_end + self.out * unit * 0.42
        self.far_leg = self.control_end + self.out * unit * 0.7

    @property
    def corner(self):
        return min((self.room - self.window) / 2, self.pen.sheet.rail * 0.3)

    def rail(self):
        pen, left, right = self.pen, self.scale(self.layout.rail.left), self.scale(self.layout.rail.right)
        pen.rect(left, self.top, right - left, self.deep, thick=pen.sheet.line)
        pen.line(left, self.middle, right, self.middle, thick=pen.sheet.hair, dash="7 2 2 2")

    def carriers(self):
        pen, reach = self.pen, self.deep * 0.13
        for carrier in self.layout.carriers:
            x, wide = self.scale(carrier.left), self.scale(carrier.right) - self.scale(carrier.left)
            kind = f"carrier carrier-{carrier.hand}"
            if not carrier.lead:
                pen.rect(x, self.middle - reach, wide, reach * 2, thick=pen.sheet.hair, css_class=kind)
                continue
            lane = self.lane_of(carrier)
            top, bottom = sorted((lane, self.middle - reach if lane > self.middle else self.middle + reach))
            box = (x, top, max(wide, 2), bottom - top)
            pen.rect(*box, thick=0, fill="currentColor", css_class=f"{kind} carrier-lead")

    def lane_of(self, lead):
        """The run of the cord that this lead carrier holds."""
        return self.room if lead is self.leads[0] else self.window

    def run(self, *, foot):
        """The cord along the rail and down its loop, a group for each step of the threading, each with its number."""
        out, bend = self.out, self.corner
        sweep = 1 if out > 0 else 0
        idle = self.idle_end + out * self.pen.sheet.line * 2
        first = self.scale(self.leads[0].axis)
        radius = abs(self.far_leg - self.near_leg) / 2
        round_loop = 1 if self.far_leg < self.near_leg else 0
        ways = [
            "",
            f"M{first:.2f} {self.room:.2f}H{self.near_leg:.2f}",
            f"M{self.near_leg:.2f} {self.room:.2f}V{foot - radius:.2f}"
            f"A{radius:.2f} {radius:.2f} 0 0 {round_loop} {self.far_leg:.2f} {foot - radius:.2f}V{self.window:.2f}",
            f"M{self.far_leg:.2f} {self.window:.2f}H{idle + out * bend:.2f}",
            f"M{idle + out * bend:.2f} {self.window:.2f}"
            f"A{bend:.2f} {bend:.2f} 0 0 {1 - sweep} {idle:.2f} {self.window + bend:.2f}V{self.room - bend:.2f}"
            f"A{bend:.2f} {bend:.2f} 0 0 {1 - sweep} {idle + out * bend:.2f} {self.room:.2f}H{first:.2f}",
            "",
        ]
        numbers = self._numbers(foot)
        for step, way in enumerate(ways[: len(numbers)], 1):
            with self.pen.group("cord-step", step=step):
                if way:
                    self.pen.path(way, thick=self.pen.sheet.line * 1.8, css_class="cord-run")
                self._ways(step, foot=foot)
        for step, (x, y) in enumerate(numbers, 1):  # over every run
            with self.pen.group("cord-step", step=step):
                if step in (1, 6):
                    self._clamp(self.leads[step > 1])
                numbered(self.pen, x, y, step)

    def _ways(self, step, *, foot):
        """Heads on this step's run, the way that the cord is threaded."""
        first, along = self.scale(self.leads[0].axis), self.idle_end - self.control_end
        high = self.room + (foot - self.room) * 0.28
        heads = {
            2: [((first + self.control_end) / 2, self.room, self.out, 0)],
            3: [(self.near_leg, high, 0, 1), (self.far_leg, high, 0, -1)],
            4: [(self.control_end + share * along, self.window, -self.out, 0) for share in (0.25, 0.75)],
            5: [((first + self.idle_end) / 2, self.room, self.out, 0)],
        }
        for x, y, across, down in heads.get(step, ()):
            self._head(x, y, across, down)

    def _head(self, x, y, across, down):
        """An arrow head about (x, y), broader than the run is when it is set off."""
        reach, half = self.pen.sheet.arrow * 0.75, self.pen.sheet.arrow * 0.62
        base = (x - across * reach, y - down * reach)
        sides = [(base[0] + turn * down * half, base[1] + turn * across * half) for turn in (-1, 1)]
        self.pen.polygon((x + across * reach, y + down * reach), *sides)

    def _clamp(self, lead):
        x, lane, size = self.scale(lead.axis), self.lane_of(lead), self.pen.sheet.rail * 0.2
        self.pen.rect(x - size, lane - size, size * 2, size * 2, thick=self.pen.sheet.line, fill="currentColor")

    def _numbers(self, foot):
        """Where each step's number stands, in the order of threading."""
        marks = [
            (self.scale(self.leads[0].axis), self.room),
            (self.near_leg, self.room),
            ((self.near_leg + self.far_leg) / 2, (self.room + foot) / 2),
            ((self.control_end + self.idle_end) / 2, self.window),
            (self.idle_end, self.middle),
        ]
        if len(self.leads) > 1:
            marks.append((self.scale(self.leads[1].axis), self.window))
        centre, aside = (self.control_end + self.idle_end) / 2, self.pen.sheet.text * 1.4
        # The clamps' numbers stand beside them, towards the middle.
        return [
            (x + (aside if x < centre else -aside), y) if step in (1, 6) else (x, y)
            for step, (x, y) in enumerate(marks, 1)
        ]

    def device(self, spec, *, foot):
        """The chain's loop beside the cord's, and what holds or parts them. Returns the y below."""
        pen, sheet = self.pen, self.pen.sheet
        chain = self.control_end + self.out * sheet.loop_margin * 0.14
        small = sheet.loop_margin * 0.1
        pen.path(
            f"M{chain - small:.2f} {self.top + self.deep:.2f}V{foot - small * 2:.2f}"
            f"A{small:.2f} {small:.2f} 0 0 0 {chain + small:.2f} {foot - small * 2:.2f}V{self.top + self.deep:.2f}",
            thick=sheet.line * 1.6,
            dash="0.1 3",
        )
        edges = sorted((chain - self.out * small * 1.8, self.far_leg + self.out * small))
        pen.rect(edges[0], foot - small * 3, edges[1] - edges[0], small * 3.6, thick=sheet.line, round=small)
        x, anchor = (1, "start") if self.out < 0 else (sheet.width - 1, "end")
        for place, words in enumerate((_(TAG_1[spec["loop_control"]]), _("tag 2: round the bundle"))):
            pen.text(x, foot + small * 0.6 + sheet.text * (1.4 + 1.25 * place), words, anchor=anchor)
        return foot + small * 0.6 + sheet.text * 3


def numbered(pen, x, y, number):
    size = pen.sheet.text
    pen.circle(x, y, size * 0.72, thick=pen.sheet.hair, fill="#fff", css_class="ground")
    pen.text(x, y + size * 0.35, str(number), bold=True, anchor="middle")


def _legend(pen, spec, components, layout, *, top):
    """The way in words beside the loops, with the cut and the drop. Returns the y below the last line."""
    sheet = pen.sheet
    aside = sheet.loop_margin + sheet.text * 1.4
    left, right = (2, sheet.width - aside) if layout.controls == RIGHT else (aside, sheet.width)
    y = top + sheet.figure
    x = left
    for name, key in (
        (_("cord cut"), "cord_cut_mm"),
        (_("hangs"), "cord_drop_mm"),
        (_("chain hangs"), "chain_drop_mm"),
    ):
        if components[key] is None:
            continue
        label = Label(name, figure_text(components[key]))
        if x > left and x + label.width(sheet) > right:
            x, y = left, y + sheet.row
        with pen.group("figure", figure=key):
            pen.label(x, y, label)
        x += label.width(sheet) + sheet.text * 1.2
    y += sheet.text * 0.7
    for number, words in enumerate(_way(layout), 1):
        y += sheet.text * 1.75
        with pen.group("cord-step cord-words", step=number):
            numbered(pen, left + sheet.text * 0.8, y - sheet.text * 0.35, number)
            pen.text(left + sheet.text * 2, y, words)
    return y + sheet.text


def _way(layout):
    controls, idle = (LEFT, RIGHT) if layout.controls == LEFT else (RIGHT, LEFT)
    first = sorted(layout.leads, key=lambda lead: lead.axis, reverse=controls == RIGHT)[0]
    way = [
        _("clamp one end at the lead carrier {letter}", letter=letter_of(first.hand)),
        _(OUT_AT[controls]),
        _("down, round the loop, back in"),
        _("along the rail on the window's side"),
        _(ROUND[idle]),
    ]
    if len(layout.leads) > 1:
        way.append(_("clamp the lead carrier {letter} to this run", letter=letter_of(idle)))
    return way
