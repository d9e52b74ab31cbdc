"""The headrail: finished sizes, rail, tilt rod, brackets and the mass that the rail carries.

Every argument is an exact number; lengths are millimetres.
"""

from fractions import Fraction

from calc.findings import finding
from calc.rounding import Exact, ceil_ratio, json_number, sum_of_products
from calc.trace import PIECES, PRACTICE, figure

_MILLIONTH = Fraction(1, 1_000_000)


@figure(unit="mm", formula="width_mm - clearance_mm")
def finished_width_mm(*, width_mm: Exact, clearance_mm: Exact) -> Exact:
    """Width of the finished blind: the measured width less the recess clearance, which is 0 for an exact size."""
    return width_mm - clearance_mm


@figure(unit="mm", formula="drop_mm - clearance_mm")
def finished_drop_mm(*, drop_mm: Exact, clearance_mm: Exact) -> Exact:
    """Drop of the finished blind: the measured drop less the recess clearance, which is 0 for an exact size."""
    return drop_mm - clearance_mm


@figure(unit="mm", formula="finished_width_mm - 2 * end_cover_mm")
def rail_cut_mm(*, finished_width_mm: Exact, end_cover_mm: Exact) -> Exact:
    """Cut length of the rail: an end cover clips on outboard of each end."""
    return finished_width_mm - 2 * end_cover_mm


@figure(unit="mm", formula="rail_cut_mm - rod_shortfall_mm")
def tilt_rod_cut_mm(*, rail_cut_mm: Exact, rod_shortfall_mm: Exact) -> Exact:
    """Cut length of the tilt rod, which must not reach the rail's ends."""
    return rail_cut_mm - rod_shortfall_mm


@figure(unit=PIECES, formula="max(2, ceil((rail_cut_mm - 2 * bracket_inset_mm) / bracket_span_mm) + 1)")
def brackets(*, rail_cut_mm: Exact, bracket_inset_mm: Exact, bracket_span_mm: Exact) -> int:
    """Brackets, so that none stand further apart than the span; never fewer than 2."""
    return max(2, ceil_ratio(rail_cut_mm - 2 * bracket_inset_mm, bracket_span_mm) + 1)


@figure(
    unit="kg",
    formula="(rail_kg_per_m * rail_cut_mm + rod_kg_per_m * tilt_rod_cut_mm + carriers_total * (carrier_g + "
    "bottom_weight_g + vane_cut_mm * vane_width_mm * fabric_g_per_m2 / 1000000)) / 1000",
    source=f"rail, rod, carriers, vanes as cut and bottom weights, no more: {PRACTICE}",
)
def mass_kg(
    *,
    rail_kg_per_m: Exact,
    rail_cut_mm: Exact,
    rod_kg_per_m: Exact,
    tilt_rod_cut_mm: Exact,
    carriers_total: int,
    carrier_g: Exact,
    bottom_weight_g: Exact,
    vane_cut_mm: Exact,
    vane_width_mm: int,
    fabric_g_per_m2: Exact,
) -> Exact:
    """Mass on the rail: kg per m times mm is g, and fabric in g per m2 times mm2 is millionths of a gram."""
    fabric_millionth_g = vane_cut_mm * vane_width_mm * fabric_g_per_m2
    return sum_of_products(
        (rail_kg_per_m, rail_cut_mm),
        (rod_kg_per_m, tilt_rod_cut_mm),
        (carriers_total, carrier_g + bottom_weight_g),
        (carriers_total * fabric_millionth_g, _MILLIONTH),
        over=1000,
    )


def rail_parts(job) -> dict:
    """The rail, the tilt rod and the brackets of `job`."""
    add, system = job.trace.add, job.system
    cut_mm = add(rail_cut_mm, finished_width_mm=job.finished_width_mm, end_cover_mm=system.end_cover_mm)
    return {
        "rail_cut_mm": cut_mm,
        "tilt_rod_cut_mm": add(tilt_rod_cut_mm, rail_cut_mm=cut_mm, rod_shortfall_mm=system.rod_shortfall_mm),
        "brackets": add(
            brackets,
            rail_cut_mm=cut_mm,
            bracket_inset_mm=system.bracket_inset_mm,
            bracket_span_mm=system.bracket_span_mm,
        ),
    }


def mass_of(job, *, rail_cut_mm: Exact, tilt_rod_cut_mm: Exact, carriers_total: int, vane_cut_mm: Exact) -> Exact:
    """The mass that the rail of `job` carries, its own included."""
    return job.trace.add(
        mass_kg,
        rail_kg_per_m=job.system.rail_kg_per_m,
        rail_cut_mm=rail_cut_mm,
        rod_kg_per_m=job.system.rod_kg_per_m,
        tilt_rod_cut_mm=tilt_rod_cut_mm,
        carriers_total=carriers_total,
        carrier_g=job.system.carrier_g,
        bottom_weight_g=job.parts.bottom_weight_g,
        vane_cut_mm=vane_cut_mm,
        vane_width_mm=job.spec.vane_width_mm,
        fabric_g_per_m2=job.spec.fabric_g_per_m2,
    )


def rating_findings(*, mass_kg: Exact, system) -> list[dict]:
    """A refusal where the blind is heavier than its rail may carry."""
    if mass_kg <= system.rail_rating_kg:
        return []
    message = (
        f"The blind comes to {json_number(mass_kg)} kg; the rail may carry {json_number(system.rail_rating_kg)} kg. "
        f"Pick a lighter fabric, or make two blinds of it."
    )
    return [finding(code="mass_over_rating", field="fabric_g_per_m2", message=message, source=system.said)]
