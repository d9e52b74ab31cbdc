"""The few figures that matter at one station, and what a measured value outside its tolerance likely means."""

from dataclasses import dataclass

from production import route, steps

DRAWN_VIEWS = {
    route.RAILING: ("gap_check", "closed", "ends"),
    route.STRINGING: ("cord",),
    route.CHECKING: ("closed", "drawn"),
}
"""The views of the drawing that help at a station, the most wanted first."""


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A figure as it stands at the bench. `value` None: not known yet, and `note` says what it waits for."""

    name: str
    value: int | float | str | None
    unit: str = "mm"
    note: str = ""
    tolerance_mm: int | float | None = None
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
    return tuple(build(blind.spec, blind.components, fabric=blind.fabric, entries=entries, now=bench.components))


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


def _railing(spec, components, **rest):
    tolerances, tubes = components["tolerances_mm"], components["spacer_tubes_mm"]
    yield Figure(name="Rail", value=components["rail_cut_mm"], tolerance_mm=tolerances["rail_cut_mm"])
    yield Figure(name="Tilt rod", value=components["tilt_rod_cut_mm"], tolerance_mm=tolerances["tilt_rod_cut_mm"])
    for hand in ("left", "right"):
        if components["carriers"][hand]:
            yield Figure(name=f"{hand.capitalize()} carriers", value=components["carriers"][hand], unit="", hand=hand)
    for hand in ("left", "right"):
        yield Figure(
            name=f"{hand.capitalize()} tube", value=tubes[hand], tolerance_mm=tolerances["spacer_tubes_mm"][hand]
        )
    yield Figure(
        name="Gap",
        value=components["gap_check_mm"],
        tolerance_mm=tolerances["gap_check_mm"]["worst_case"],
        note=f"hold {components['gap_check_held']}",
    )
    yield Figure(name="Rail stops", value=components["rail_stops"], unit="")


def _vanes(spec, components, *, fabric, entries, **rest):
    vanes, tolerance_mm = components["vanes"], components["tolerances_mm"]["vane_cut_mm"]
    yield Figure(name="Vanes", value=vanes["count"], unit="")
    yield Figure(name="Cut", value=vanes["cut_mm"], tolerance_mm=tolerance_mm)
    yield Figure(name="Finished", value=vanes["finished_mm"], tolerance_mm=tolerance_mm)
    yield Figure(name="Fabric", value=vanes["fabric_m"], unit="m", note=fabric)
    yield Figure(name="Dye lot", value=entries.get("dye_lot"), unit="", note="" if "dye_lot" in entries else "to enter")


def _stringing(spec, components, *, entries, now, **rest):
    if not steps.looped(spec):
        yield Figure(name="Wands", value=components["wands"], unit="")
        yield Figure(name="Wand", value=components["wand_mm"])
        return
    tolerances, measured = components["tolerances_mm"], "chain" in entries
    yield Figure(
        name="Chain hangs",
        value=entries.get("chain", components["chain_drop_mm"]),
        tolerance_mm=None if measured else tolerances["chain_drop_mm"],
        note="as measured" if measured else "nominal",
    )
    cut_mm = now["cord_cut_mm"] if measured else None
    stopped = "do not cut" if measured else "after measuring the chain"
    yield Figure(
        name="Cord cut",
        value=cut_mm,
        note="" if cut_mm else stopped,
        tolerance_mm=tolerances["cord_cut_mm"] if cut_mm else None,
    )
    if cut_mm:
        yield Figure(name="Cord hangs", value=now["cord_drop_mm"])
    yield Figure(name="Chain loop", value=components["chain_loop_mm"], note=f"{components['chain_balls']} balls")


def _checking(spec, components, *, now, **rest):
    tolerances = components["tolerances_mm"]
    yield Figure(name="Carriers", value=components["carriers"]["total"], unit="")
    yield Figure(name="Vanes", value=components["vanes"]["count"], unit="")
    yield Figure(name="Width", value=components["finished_width_mm"], tolerance_mm=tolerances["rail_cut_mm"])
    yield Figure(name="Vane", value=components["vanes"]["finished_mm"], tolerance_mm=tolerances["vane_cut_mm"])
    if steps.looped(spec):
        yield Figure(name="Loop hangs", value=now["chain_drop_mm"], tolerance_mm=tolerances["chain_drop_mm"])
    else:
        yield Figure(name="Wand", value=components["wand_mm"])


def _packing(spec, components, *, fabric, **rest):
    yield Figure(name="Vanes", value=components["vanes"]["count"], unit="", note=fabric)
    yield Figure(name="Bottom weights", value=components["vanes"]["count"], unit="")
    yield Figure(name="Brackets", value=components["brackets"], unit="", note=f"{spec['fixing']} fix")
    if components["bottom_chain_mm"]:
        yield Figure(name="Bottom chain", value=components["bottom_chain_mm"])
    if not steps.looped(spec):
        yield Figure(name="Wands", value=components["wands"], unit="")


def advice(found):
    """What the verdict on a measure tells the maker to do; nothing for what is within. Common practice, no source."""
    if found.verdict == "doubtful":
        return "Too near the limit for a tape to tell. Measure again with a better instrument, such as a caliper."
    if found.verdict != "outside":
        return ""
    smaller = found.value < found.step.expected
    likely = {
        "gap": "A carrier too many, too long a tube, or a link caught."
        if smaller
        else "A carrier too few, too short a tube, or a link not drawn right out.",
        "chain": "The chain is of another length than ordered: count its balls, and see that it hangs free.",
        "vane_length": "The cut or a hem is off: measure a second vane, then the stop of the cutter.",
        "width": "The rail was cut wrong, or an end cover is not home.",
        "drop": "The wrong vanes, or a hem is off.",
        "loop": "The chain is off, or the tensioner isn't pulled home.",
    }
    return likely.get(found.step.key, "Measure once more before you change anything.")
