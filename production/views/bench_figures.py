"""The few figures that matter at one station, and what a measured value outside its tolerance likely means."""

from dataclasses import dataclass, replace

from calc import supply
from production import route, steps
from production.figures import named_values
from production.from_calc import said
from production.safety_rule import rule_of
from production.words import N_, _, ngettext
from production.workings import BY_MEASURED_CHAIN, TOLERANCES, value_of

DRAWN_VIEWS = {
    route.RAILING: ("gap_check", "closed", "ends"),
    route.STRINGING: ("cord",),
    route.CHECKING: ("closed", "above_closed", "drawn", "above_drawn"),
}
"""The views of the drawing that help at a station, the most wanted first."""


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A figure as it stands at the bench. `value` None: not known yet, and `note` says what it waits for.

    `key` is the name of its working, empty where it has none: what was entered.
    """

    name: str
    key: str = ""
    value: int | float | str | None
    unit: str = "mm"
    note: str = ""
    tolerance_mm: int | float | None = None
    letter: str = ""
    hand: str = ""

    @property
    def worded(self):
        return isinstance(self.value, str)


def figures_for(*, bench):
    """The figures of the bench's station, in the order in which they are needed there."""
    build = {
        route.RAILING: _railing,
        route.VANES: _vanes,
        route.STRINGING: _stringing,
        route.CHECKING: _checking,
        route.PACKING: _packing,
    }[bench.station]
    blind, entries = bench.blind, {found.step.key: found.value for found in bench.steps if found.entry}
    system = blind.revision.as_system()
    found = build(blind.spec, blind.components, fabric=blind.fabric, entries=entries, now=bench.components)
    return tuple(replace(each, letter=_letter(each, system)) for each in found)


def _letter(figure, system):
    """The tolerance class of the part that a figure is about."""
    constant = TOLERANCES.get(figure.key, ("", None))[1]
    return getattr(system, constant) if constant and figure.tolerance_mm else ""


def workings_of(*, bench):
    """(key, label, value) of every figure that has a working, so that whatever the drawing shows can be opened without
    touching it."""
    hidden = BY_MEASURED_CHAIN if bench.station == route.STRINGING and not _measured(bench) else ()
    return [each for each in named_values(bench.components) if each[0] not in hidden]


def _measured(bench):
    """Whether the figures follow a chain that was measured."""
    return bench.components is not bench.blind.components


def market_rule(*, bench):
    """The rule in force for the blind, with its numbers, where loops are made and checked; None elsewhere."""
    if bench.station not in (route.STRINGING, route.CHECKING):
        return None
    spec, now = bench.blind.spec, bench.components
    market = spec["market"]
    undecided, who = supply.UNDECIDED[market]
    told = {"market": market, "undecided": said(undecided), "who": said(who), **rule_of(spec)}
    if not steps.looped(spec):
        return told
    return {
        **told,
        "longest_mm": value_of(now, "longest_loop_mm"),
        "cord_mm": now["cord_drop_mm"] if _measured(bench) else None,
        "chain_mm": now["chain_drop_mm"],
    }


def drawn_figures(*, bench):
    """The figures to draw at the bench: cord and chain as they follow from the measured chain, and no cord before."""
    entries = {found.step.key: found.value for found in bench.steps if found.entry}
    drawn = dict(bench.blind.components)
    if bench.station == route.STRINGING:
        measured_mm = entries.get("chain")
        drawn["chain_drop_mm"] = measured_mm or drawn["chain_drop_mm"]
        for name in ("cord_cut_mm", "cord_drop_mm"):
            drawn[name] = bench.components[name] if measured_mm else None
    elif not bench.refusals:
        drawn = bench.components
    return drawn


CARRIERS = {"left": N_("Left carriers"), "right": N_("Right carriers")}
TUBES = {"left": N_("Left tube"), "right": N_("Right tube")}
FIXING = {"top": N_("top fix"), "face": N_("face fix")}


def _railing(spec, components, **rest):
    tolerances, tubes = components["tolerances_mm"], components["spacer_tubes_mm"]
    yield Figure(
        name=_("Rail"), key="rail_cut_mm", value=components["rail_cut_mm"], tolerance_mm=tolerances["rail_cut_mm"]
    )
    yield Figure(
        name=_("Tilt rod"),
        key="tilt_rod_cut_mm",
        value=components["tilt_rod_cut_mm"],
        tolerance_mm=tolerances["tilt_rod_cut_mm"],
    )
    for hand in ("left", "right"):
        if components["carriers"][hand]:
            yield Figure(
                name=_(CARRIERS[hand]),
                key=f"carriers.{hand}",
                value=components["carriers"][hand],
                unit="",
                hand=hand,
            )
    for hand in ("left", "right"):
        yield Figure(
            name=_(TUBES[hand]),
            key=f"spacer_tubes_mm.{hand}",
            value=tubes[hand],
            tolerance_mm=tolerances["spacer_tubes_mm"][hand],
        )
    yield Figure(
        name=_("Gap"),
        key="gap_check_mm",
        value=components["gap_check_mm"],
        tolerance_mm=tolerances["gap_check_mm"]["worst_case"],
        note=_("hold {count}", count=components["gap_check_held"]),
    )
    yield Figure(name=_("Rail stops"), key="rail_stops", value=components["rail_stops"], unit="")


def _vanes(spec, components, *, fabric, entries, **rest):
    vanes, tolerance_mm = components["vanes"], components["tolerances_mm"]["vane_cut_mm"]
    yield Figure(name=_("Vanes"), key="vanes.count", value=vanes["count"], unit="")
    yield Figure(name=_("Cut"), key="vanes.cut_mm", value=vanes["cut_mm"], tolerance_mm=tolerance_mm)
    yield Figure(name=_("Finished"), key="vanes.finished_mm", value=vanes["finished_mm"], tolerance_mm=tolerance_mm)
    yield Figure(name=_("Fabric"), key="vanes.fabric_m", value=vanes["fabric_m"], unit="m", note=fabric)
    yield Figure(
        name=_("Dye lot"), value=entries.get("dye_lot"), unit="", note="" if "dye_lot" in entries else _("to enter")
    )


def _stringing(spec, components, *, entries, now, **rest):
    if not steps.looped(spec):
        yield Figure(name=_("Wands"), key="wands", value=components["wands"], unit="")
        yield Figure(name=_("Wand"), key="wand_mm", value=components["wand_mm"])
        return
    tolerances, measured = components["tolerances_mm"], "chain" in entries
    yield Figure(
        name=_("Chain hangs"),
        key="chain_drop_mm",
        value=entries.get("chain", components["chain_drop_mm"]),
        tolerance_mm=None if measured else tolerances["chain_drop_mm"],
        note=_("as measured") if measured else _("nominal"),
    )
    cut_mm = now["cord_cut_mm"] if measured else None
    stopped = _("do not cut") if measured else _("after measuring the chain")
    yield Figure(
        name=_("Cord cut"),
        key="cord_cut_mm",
        value=cut_mm,
        note="" if cut_mm else stopped,
        tolerance_mm=tolerances["cord_cut_mm"] if cut_mm else None,
    )
    if cut_mm:
        yield Figure(name=_("Cord hangs"), key="cord_drop_mm", value=now["cord_drop_mm"])
    yield Figure(
        name=_("Chain loop"),
        key="chain_loop_mm",
        value=components["chain_loop_mm"],
        note=ngettext("{count} ball", "{count} balls", components["chain_balls"]),
    )


def _checking(spec, components, *, now, **rest):
    tolerances = components["tolerances_mm"]
    yield Figure(name=_("Carriers"), key="carriers.total", value=components["carriers"]["total"], unit="")
    yield Figure(name=_("Vanes"), key="vanes.count", value=components["vanes"]["count"], unit="")
    yield Figure(
        name=_("Width"),
        key="finished_width_mm",
        value=components["finished_width_mm"],
        tolerance_mm=tolerances["rail_cut_mm"],
    )
    yield Figure(
        name=_("Vane"),
        key="vanes.finished_mm",
        value=components["vanes"]["finished_mm"],
        tolerance_mm=tolerances["vane_cut_mm"],
    )
    if steps.looped(spec):
        yield Figure(
            name=_("Loop hangs"),
            key="chain_drop_mm",
            value=now["chain_drop_mm"],
            tolerance_mm=tolerances["chain_drop_mm"],
        )
    else:
        yield Figure(name=_("Wand"), key="wand_mm", value=components["wand_mm"])


def _packing(spec, components, *, fabric, **rest):
    yield Figure(name=_("Vanes"), key="vanes.count", value=components["vanes"]["count"], unit="", note=fabric)
    yield Figure(name=_("Bottom weights"), key="vanes.count", value=components["vanes"]["count"], unit="")
    yield Figure(
        name=_("Brackets"), key="brackets", value=components["brackets"], unit="", note=_(FIXING[spec["fixing"]])
    )
    if components["bottom_chain_mm"]:
        yield Figure(name=_("Bottom chain"), key="bottom_chain_mm", value=components["bottom_chain_mm"])
    if not steps.looped(spec):
        yield Figure(name=_("Wands"), key="wands", value=components["wands"], unit="")
