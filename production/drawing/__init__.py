"""The drawing of one headrail: an inline SVG to proportion, dimensioned like a workshop sketch. Pure.

One source, three sizes: beside an order line (`desk`), at a station (`station`), on a ticket (`ticket`).
"""

from collections.abc import Mapping
from html import escape

from ..words import N_, _
from .bunched import drawn, gap_check
from .closed import closed
from .cord import cord
from .ends import ends
from .geometry import CLOSED, DRAWN, GAP_CHECK, layout
from .pen import Pen, figure_text
from .plan import above_closed, above_drawn
from .sheet import SHEETS

CORD, ENDS = "cord", "ends"
ABOVE_CLOSED, ABOVE_DRAWN = "above_closed", "above_drawn"
VIEWS = {
    CLOSED: closed,
    ENDS: ends,
    GAP_CHECK: gap_check,
    CORD: cord,
    DRAWN: drawn,
    ABOVE_CLOSED: above_closed,
    ABOVE_DRAWN: above_drawn,
}
STATE = {GAP_CHECK: GAP_CHECK, CORD: DRAWN, DRAWN: DRAWN, ABOVE_DRAWN: DRAWN}
TITLES = {
    CLOSED: N_("The blind closed"),
    DRAWN: N_("The blind drawn right back"),
    GAP_CHECK: N_("The gap check"),
    ENDS: N_("Both ends of the headrail, enlarged"),
    CORD: N_("The way of the cord"),
    ABOVE_CLOSED: N_("The blind closed, from above"),
    ABOVE_DRAWN: N_("The blind drawn right back, from above"),
}
DRAWS = {"one_way": N_("one way"), "reverse": N_("reverse"), "split": N_("split")}
SIDES = {"left": N_("left"), "right": N_("right")}


def views_of(*, spec: Mapping) -> tuple[str, ...]:
    """The views that this blind has, in the order of work: a wand blind has no cord."""
    return tuple(view for view in VIEWS if (view != CORD or spec["operation"] == "cord_chain"))


def headrail(
    *, spec: Mapping, components: Mapping, size: str = "station", view: str = CLOSED, font_family: str | None = None
) -> str:
    """An SVG of this very headrail, seen from the room unless it says otherwise; lengths along the rail to proportion.

    `spec` and `components` as `calc.components` reads and writes them. `size`: ticket, station or desk. `view`: one of
    `views_of`. `font_family` for paper, where no style sheet reaches an SVG. Raises ValueError for another size or
    view, and where the size was refused, so that there are no figures to draw.
    """
    if size not in SHEETS:
        raise ValueError(f"A drawing is sized {', '.join(SHEETS)}; not {size!r}.")
    if view not in views_of(spec=spec):
        raise ValueError(f"This blind is seen {', '.join(views_of(spec=spec))}; not {view!r}.")
    sheet, pen = SHEETS[size], Pen(SHEETS[size])
    laid = layout(spec=spec, components=components, state=STATE.get(view, CLOSED))
    height = VIEWS[view](pen, spec=spec, components=components, layout=laid)
    family = f' font-family="{escape(font_family)}"' if font_family else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing drawing-{size} drawing-{view}" role="img"'
        f' viewBox="0 0 {sheet.width:g} {height:.0f}" fill="none" stroke-linejoin="round"{family}>'
        f"<title>{escape(_(TITLES[view]))}</title><desc>{escape(description(spec=spec, components=components))}</desc>"
        f"{pen}</svg>"
    )


def description(*, spec: Mapping, components: Mapping) -> str:
    """The drawing in words, for those who don't see it."""
    return _(
        "Finished width {width} mm, drop {drop} mm, {hand} hand, {draw} draw, {vane_width} mm vanes. Rail {rail} mm. "
        "Carriers: {left} left, {right} right. Gap check {gap} mm with {held} held.",
        width=figure_text(components["finished_width_mm"]),
        drop=figure_text(components["finished_drop_mm"]),
        hand=_(SIDES[spec["hand"]]),
        draw=_(DRAWS[spec["draw"]]),
        vane_width=spec["vane_width_mm"],
        rail=figure_text(components["rail_cut_mm"]),
        gap=figure_text(components["gap_check_mm"]),
        held=components["gap_check_held"],
        **components["carriers"],
    )
