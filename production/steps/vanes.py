"""The steps at vanes: cut from one dye lot, hemmed, measured and counted."""

from decimal import Decimal

from calc.rounding import json_number

from ..words import _
from .step import COUNT, DO, KNIFE, MEASURE, NOTE, Step


def in_metres(length_m):
    """A length of fabric as people read it: to the centimetre."""
    return json_number(round(Decimal(str(length_m)), 2))


def vanes(spec, components):
    vanes = components["vanes"]
    return [
        Step(key="dye_lot", kind=NOTE, text=_("Dye lot of the roll. Every vane comes from this one lot.")),
        Step(
            key="cut",
            kind=DO,
            text=_("Cut {count} vanes to {cut} mm; {fabric} m in all."),
            values={"count": vanes["count"], "cut": vanes["cut_mm"], "fabric": in_metres(vanes["fabric_m"])},
            cautions=(_(KNIFE),),
        ),
        Step(
            key="hem",
            kind=DO,
            text=_("Hem top and bottom; finished length {finished} mm."),
            values={"finished": vanes["finished_mm"]},
        ),
        Step(
            key="vane_length",
            kind=MEASURE,
            text=_("Measure one finished vane."),
            expected=vanes["finished_mm"],
            tolerance_mm=components["tolerances_mm"]["vane_cut_mm"],
        ),
        Step(
            key="weights",
            kind=DO,
            text=_("{count} hangers in, {count} bottom weights in."),
            values={"count": vanes["count"]},
        ),
        Step(key="vane_count", kind=COUNT, text=_("Count the finished vanes."), expected=vanes["count"]),
    ]
