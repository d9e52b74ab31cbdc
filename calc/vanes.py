"""The vanes: how long they are cut, the fabric they take, and the bottom chain that joins their feet.

Every argument is an exact number; lengths are millimetres unless the name says metres.
"""

from calc.rounding import Exact, ratio
from calc.trace import PIECES, figure

BOTTOM_CHAIN_RUNS = 2


@figure(unit=PIECES, formula="carriers_total", name="vanes.count")
def vanes_count(*, carriers_total: int) -> int:
    """Vanes, one a carrier."""
    return carriers_total


@figure(unit="mm", formula="finished_drop_mm - drop_loss_mm", name="vanes.finished_mm")
def vanes_finished_mm(*, finished_drop_mm: Exact, drop_loss_mm: Exact) -> Exact:
    """Finished length of a vane: headrail and hanger take the rest of the drop."""
    return finished_drop_mm - drop_loss_mm


@figure(unit="mm", formula="vanes_finished_mm + top_hem_mm + bottom_hem_mm", name="vanes.cut_mm")
def vanes_cut_mm(*, vanes_finished_mm: Exact, top_hem_mm: Exact, bottom_hem_mm: Exact) -> Exact:
    """Cut length of a vane, with both pockets."""
    return vanes_finished_mm + top_hem_mm + bottom_hem_mm


@figure(unit="m", formula="vanes_count * vanes_cut_mm / 1000", name="vanes.fabric_m")
def vanes_fabric_m(*, vanes_count: int, vanes_cut_mm: Exact) -> Exact:
    """Fabric off a roll that is slit to the vane width, of one dye lot."""
    return ratio(vanes_count * vanes_cut_mm, 1000)


@figure(unit="mm", formula="runs * (bunch_carriers - 1) * link_pitch_mm * bunches")
def bottom_chain_mm(*, runs: int, bunch_carriers: int, link_pitch_mm: Exact, bunches: int) -> Exact:
    """Bottom chain: `runs` 2, front and back of each bunch from its first vane to its last; 0 when chainless."""
    return runs * (bunch_carriers - 1) * link_pitch_mm * bunches


def vane_parts(job, row) -> dict:
    """The vanes and the bottom chain of `job`, whose carriers stand in `row`."""
    add, system = job.trace.add, job.system
    count = add(vanes_count, carriers_total=row.carriers_total)
    finished_mm = add(vanes_finished_mm, finished_drop_mm=job.finished_drop_mm, drop_loss_mm=system.drop_loss_mm)
    cut_mm = add(
        vanes_cut_mm,
        vanes_finished_mm=finished_mm,
        top_hem_mm=system.top_hem_mm,
        bottom_hem_mm=system.bottom_hem_mm,
    )
    fabric_m = add(vanes_fabric_m, vanes_count=count, vanes_cut_mm=cut_mm)
    chain_mm = add(
        bottom_chain_mm,
        runs=BOTTOM_CHAIN_RUNS if job.spec.bottom == "chain" else 0,
        bunch_carriers=row.bunch_carriers,
        link_pitch_mm=job.parts.link_pitch_mm,
        bunches=row.bunches,
    )
    vanes = {"count": count, "finished_mm": finished_mm, "cut_mm": cut_mm, "fabric_m": fabric_m}
    return {"vanes": vanes, "bottom_chain_mm": chain_mm}
