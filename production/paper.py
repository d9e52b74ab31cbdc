"""What stands on a blind's ticket and its rail's label, in words and figures; how it is printed is `labels`.

Common practice, no source.
"""

import base64

from orders.models.choices import MARKET_NAMES, WORDS
from orders.templatetags.trade import figure as in_full
from production import codes, drawing, route, steps
from production.drawing.pen import figure_text
from production.drawing.rail import letter_of
from production.from_calc import said
from production.words import N_, _, ngettext

SIDES = {"left": N_("left"), "right": N_("right")}

HAND_MEANS = {"controls": N_("controls"), "gathers": N_("gathers"), "ordered": N_("ordered")}

OPERATIONS = {
    ("plastic", "tensioner"): N_("cord and plastic chain, tensioner"),
    ("plastic", "breakaway"): N_("cord and plastic chain, breakaway joint"),
    ("plastic", "weight"): N_("cord and plastic chain, loop weight"),
    ("metal", "tensioner"): N_("cord and metal chain, tensioner"),
    ("metal", "breakaway"): N_("cord and metal chain, breakaway joint"),
    ("metal", "weight"): N_("cord and metal chain, loop weight"),
}

FONT = "Ticket"


def identity_of(blind):
    """What every paper of a blind says of it."""
    spec, figures = blind.spec, blind.components
    return {
        "number": blind.number,
        "check_digit": codes.check_digit(order_number=blind.order.number, serial=blind.serial),
        "code": blind.label_code,
        "remake": blind.remake,
        "order": blind.order,
        "customer": blind.order.customer.name,
        "room": blind.room,
        "serial": blind.serial,
        "of": blind.of_blinds,
        "some_taken_off": blind.of_blinds < blind.of_numbers,
        "hand": _(SIDES[spec["hand"]]),
        "letter": letter_of(spec["hand"]),
        "hand_means": _(HAND_MEANS[hand_means(spec)]),
        "draw": _(drawing.DRAWS[spec["draw"]]),
        "vane_width": spec["vane_width_mm"],
        "fabric": blind.fabric,
        "operation": operation_of(spec),
        "basis": _(WORDS[spec["size_basis"]]),
        "recess": spec["size_basis"] == "recess",
        "given": size(spec["width_mm"], spec["drop_mm"]),
        "finished": size(figures["finished_width_mm"], figures["finished_drop_mm"]),
        "looped": blind.looped,
    }


def hand_means(spec):
    """What the hand of this blind is the side of."""
    return "controls" if steps.looped(spec) else "gathers" if spec["draw"] == "one_way" else "ordered"


def operation_of(spec):
    if not steps.looped(spec):
        return _(WORDS["wand"]).lower()
    return _(OPERATIONS[spec["chain"], spec["loop_control"]])


def size(width_mm, drop_mm):
    return f"{figure_text(width_mm)} × {figure_text(drop_mm)}"


TICKET_VIEWS = ("closed", "gap_check", "cord", "drawn")


def ticket_of(blind):
    """All that one ticket shows."""
    views = {view: _drawn(blind, view) for view in drawing.views_of(spec=blind.spec) if view in TICKET_VIEWS}
    return {
        **identity_of(blind),
        "blind": blind,
        "special": blind.special_instruction,
        "special_at": [route.STATION[key].name.lower() for key in route.STATION if key in blind.concerns],
        "qr": codes.qr_svg(blind.label_code, dots=6),
        "code128": codes.code128_svg(blind.label_code, dots=3, height_mm=8),
        "views": views,
        "stations": {place.key: _station(blind, place) for place in route.STATIONS},
        "safety": safety_of(blind),
        "triangle": TRIANGLE,
    }


def _drawn(blind, view):
    svg = drawing.headrail(spec=blind.spec, components=blind.components, size="ticket", view=view, font_family=FONT)
    return picture(svg)


def picture(svg):
    """A drawing as the address of an image: set faster than inline, since no style sheet is tried on its marks."""
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()


def _station(blind, place):
    made = steps.steps_for(
        station=place.key,
        spec=blind.spec,
        components=blind.components,
        special_instruction=blind.special_instruction,
        concerns=blind.concerns,
        tape_class=blind.revision.as_system().tape_class,
    )
    return {"name": place.name, "figures": FIGURES[place.key](blind), "steps": [_step(step) for step in made]}


def _step(step):
    """A step as a line with a box to tick, or a blank to write in."""
    expected = figure_text(step.expected) if step.expected is not None else ""
    tolerance = in_full(step.tolerance_mm) if step.tolerance_mm is not None else ""
    # The instruction itself stands once, large, at the head of the ticket.
    words = _("Special instruction read.") if step.kind == steps.ACKNOWLEDGE else str(step)
    return {
        "text": words,
        "kind": step.kind,
        "must": step.must,
        "blank": step.kind in (steps.COUNT, steps.MEASURE, steps.NOTE),
        "unit": "mm" if step.kind == steps.MEASURE else "",
        "expected": f"{expected} ± {tolerance}" if tolerance else expected,
        "cautions": step.cautions,
    }


def figure(name, value, *, unit="mm", tolerance=None, note=""):
    """One figure of a station: what, how much, how exactly. The ticket says once that lengths are in millimetres."""
    return {
        "name": name,
        "value": figure_text(value) if isinstance(value, int | float) else value,
        "unit": "" if unit == "mm" else unit,
        "tolerance": in_full(tolerance) if tolerance is not None else "",
        "note": note,
    }


def _railing(blind):
    figures, spec = blind.components, blind.spec
    tolerances, carriers, tubes = figures["tolerances_mm"], figures["carriers"], figures["spacer_tubes_mm"]
    gap = tolerances["gap_check_mm"]
    counts = " + ".join(f"{carriers[hand]} {letter_of(hand)}" for hand in ("left", "right") if carriers[hand])
    leads = ngettext("Carriers; {count} is a lead carrier", "Carriers; {count} are lead carriers", carriers["lead"])
    return [
        figure(_("Rail, cut"), figures["rail_cut_mm"], tolerance=tolerances["rail_cut_mm"]),
        figure(_("Tilt rod, cut"), figures["tilt_rod_cut_mm"], tolerance=tolerances["tilt_rod_cut_mm"]),
        *_tubes(tubes, tolerances["spacer_tubes_mm"], hand=spec["hand"]),
        figure(leads, counts, unit=""),
        figure(
            _(
                "Gap check, hold {count} (likely ± {likely})",
                count=figures["gap_check_held"],
                likely=in_full(gap["root_sum_square"]),
            ),
            figures["gap_check_mm"],
            tolerance=gap["worst_case"],
        ),
    ]


TUBES = {"left": N_("Tube, left"), "right": N_("Tube, right")}


def _tubes(tubes, tolerances, *, hand):
    if tubes["left"] == tubes["right"]:
        return [figure(_("Tubes, both"), tubes["left"], tolerance=tolerances["left"])]
    sides = (hand, "right" if hand == "left" else "left")
    return [figure(_(TUBES[side]), tubes[side], tolerance=tolerances[side]) for side in sides]


CHAINS = {
    "plastic": N_("plastic, {count} balls, loop {loop}"),
    "metal": N_("metal, {count} balls, loop {loop}"),
}


def _stringing(blind):
    figures, tolerances, spec = blind.components, blind.components["tolerances_mm"], blind.spec
    if not blind.looped:
        return [figure(_("Wand"), figures["wand_mm"]), figure(_("Wands"), figures["wands"], unit="")]
    loop = figure_text(figures["chain_loop_mm"])
    balls = _(CHAINS[spec["chain"]], count=figures["chain_balls"], loop=loop)
    return [
        figure(_("Chain hangs"), figures["chain_drop_mm"], tolerance=tolerances["chain_drop_mm"], note=balls),
        figure(
            _("Cord, cut"), figures["cord_cut_mm"], tolerance=tolerances["cord_cut_mm"], note=_("by the measured chain")
        ),
        figure(_("Cord hangs"), figures["cord_drop_mm"]),
    ]


def _vanes(blind):
    vanes, tolerances = blind.components["vanes"], blind.components["tolerances_mm"]
    return [
        figure(_("Vanes"), vanes["count"], unit=""),
        figure(_("Cut"), vanes["cut_mm"], tolerance=tolerances["vane_cut_mm"]),
        figure(_("Finished"), vanes["finished_mm"]),
        figure(_("Fabric"), in_full(vanes["fabric_m"]), unit="m"),
    ]


def _checking(blind):
    figures = blind.components
    return [
        figure(_("Finished width"), figures["finished_width_mm"]),
        figure(_("Finished drop"), figures["finished_drop_mm"]),
        figure(_("Stack, vanes square to the glass"), _by_side(figures["stack_mm"])),
    ]


def _by_side(values):
    return " + ".join(f"{figure_text(values[side])} {letter_of(side)}" for side in ("left", "right") if values[side])


def _packing(blind):
    figures = blind.components
    found = [
        figure(_("Brackets, {fixing}", fixing=_(WORDS[blind.spec["fixing"]]).lower()), figures["brackets"], unit=""),
        figure(_("Weights"), figures["vanes"]["count"], unit=""),
    ]
    if figures["bottom_chain_mm"]:
        found.append(figure(_("Bottom chain"), figures["bottom_chain_mm"]))
    return [*found, figure(_("Mass on the rail"), figures["mass_kg"], unit="kg")]


FIGURES = {
    route.RAILING: _railing,
    route.VANES: _vanes,
    route.STRINGING: _stringing,
    route.CHECKING: _checking,
    route.PACKING: _packing,
}


def safety_of(blind):
    """The market's rule as it was applied, what must be fitted, and what the computation warned of."""
    findings = blind.components["findings"]
    return {
        "market": _(MARKET_NAMES[blind.spec["market"]]),
        "rule": next((said(found["message"]) for found in findings if found["code"] == "market_rule"), ""),
        "fitted": fitted_of(blind),
        "warnings": [said(found["message"]) for found in findings if found["severity"] == "warn"],
    }


FITTED = {
    "tensioner": N_("tensioner, fitted here, not in the pack"),
    "breakaway": N_("breakaway joint, fitted here, not in the pack"),
    "weight": N_("loop weight, fitted here, not in the pack"),
}


def fitted_of(blind):
    """The safety devices and warnings that leave the workshop with this blind."""
    if not blind.looped:
        return [_("no cord or chain to pull: wand"), _("instructions in the pack")]
    tags = blind.components["warning_tags"]
    return [
        _(FITTED[blind.spec["loop_control"]]),
        _("{count} warning tags: 1 on the device, 1 stapled round cord and chain", count=tags),
        _("warning on the front of the blind"),
        _("warning on the pack"),
        _("instructions in the pack"),
    ]


def rail_of(blind):
    """All that one rail label shows."""
    # New papers say so below the code.
    height_mm = 10 if blind.remake else 13
    return {**identity_of(blind), "code128": codes.code128_svg(blind.label_code, dots=3, height_mm=height_mm)}


# The general sign for danger, drawn by us: a triangle with a mark of exclamation.
TRIANGLE = picture(
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 36">'
    "<path d='M20 1.2c1 0 1.9.5 2.4 1.4l16.4 28.6c1 1.8-.3 4-2.4 4H3.6c-2.1 0-3.4-2.2-2.4-4"
    "L17.6 2.6c.5-.9 1.4-1.4 2.4-1.4z'/>"
    '<path fill="#fff" d="M20 6.6 35.2 32.2H4.8z"/>'
    '<path d="M17.9 14.2h4.2l-.9 9.6h-2.4zM17.8 25.4h4.4v4.1h-4.4z"/>'
    "</svg>"
)
