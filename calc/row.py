"""The row of carriers put together: which end bunches, where the outermost stand, how many, how they close."""

from typing import NamedTuple

from calc import carriers
from calc.job import Job
from calc.rounding import Exact

SIDES = ("left", "right")
OTHER = {"left": "right", "right": "left"}


class Row(NamedTuple):
    """The closed row of carriers; `tubes` and `outermost` by side, exact millimetres."""

    bunched: tuple[str, ...]
    tubes: dict[str, Exact]
    outermost: dict[str, Exact]
    span_mm: Exact
    carriers_total: int
    bunch_carriers: int

    @property
    def bunches(self) -> int:
        return len(self.bunched)


def bunched_sides(*, draw: str, hand: str) -> tuple[str, ...]:
    """The ends where bunches gather: the hand's on one way, the other on reverse, both on split."""
    if draw == "split":
        return SIDES
    return (hand,) if draw == "one_way" else (OTHER[hand],)


def row_of(job: Job) -> Row:
    """The row of `job`. A bunch of fewer than two carriers can't be built: the caller refuses it."""
    bunched = bunched_sides(draw=job.spec.draw, hand=job.spec.hand)
    tubes = {side: _tube(job, side, anchored=side in bunched) for side in SIDES}
    outermost = {side: _outermost(job, side, tubes[side], anchored=side in bunched) for side in SIDES}
    add = job.trace.add
    span_mm = add(
        carriers.span_mm,
        finished_width_mm=job.finished_width_mm,
        outermost_left_mm=outermost["left"],
        outermost_right_mm=outermost["right"],
    )
    bunches = len(bunched)
    total = add(carriers.carriers_total, span_mm=span_mm, link_pitch_mm=job.parts.link_pitch_mm, bunches=bunches)
    each = add(carriers.bunch_carriers, carriers_total=total, bunches=bunches)
    return Row(bunched, tubes, outermost, span_mm, total, each)


def carrier_parts(job: Job, row: Row) -> dict:
    """The carriers, tubes and stops, how the blind closes, its gap check and its stack."""
    return {
        "carriers": carrier_counts(job, row),
        "spacer_tubes_mm": row.tubes,
        "rail_stops": job.count(name="rail_stops", value=row.bunches, formula="bunches", bunches=row.bunches),
        **(_closed_split(job, row) if job.spec.draw == "split" else _closed_one_bunch(job, row)),
        "stack_mm": {side: _stack(job, row, side) if side in row.bunched else None for side in SIDES},
    }


def _tube(job: Job, side: str, *, anchored: bool) -> Exact:
    name = f"anchored_tube_{job.spec.draw}_mm" if anchored else f"lead_tube_{job.spec.draw}_mm"
    tube_mm = getattr(job.parts, name)
    job.trace.state(f"spacer_tubes_mm.{side}", tube_mm, "mm", name, {name: tube_mm})
    return tube_mm


def _outermost(job: Job, side: str, tube_mm: Exact, *, anchored: bool) -> Exact:
    # A wand blind has no control end: both ends carry idle end sets.
    at_controls = job.looped and side == job.spec.hand
    return job.trace.add(
        carriers.outermost_mm,
        side=side,
        inset_mm=job.system.control_inset_mm if at_controls else job.system.idle_inset_mm,
        tube_mm=tube_mm,
        body_mm=job.system.carrier_body_mm if anchored else job.system.lead_body_mm,
    )


def carrier_counts(job: Job, row: Row) -> dict:
    """How many carriers, of each side, and how many of them lead."""
    counts = {"total": row.carriers_total}
    for side in SIDES:
        if side in row.bunched:
            each = row.bunch_carriers
            counts[side] = job.count(name=f"carriers.{side}", value=each, formula="bunch_carriers", bunch_carriers=each)
        else:
            counts[side] = job.count(name=f"carriers.{side}", value=0)
    counts["lead"] = job.count(name="carriers.lead", value=row.bunches, formula="bunches", bunches=row.bunches)
    return counts


def _closed_split(job: Job, row: Row) -> dict:
    add, width_mm = job.trace.add, job.spec.vane_width_mm
    bunch = {"span_mm": row.span_mm, "bunch_carriers": row.bunch_carriers}
    pitch_and_lead = {"link_pitch_mm": job.parts.link_pitch_mm, "lead_body_mm": job.system.lead_body_mm}
    centre_mm = add(carriers.centre_spacing_mm, **bunch, **pitch_and_lead)
    closed_pitch_mm = add(carriers.closed_pitch_split_mm, **bunch, centre_spacing_mm=centre_mm)
    overlap_mm = add(carriers.overlap_split_mm, vane_width_mm=width_mm, **bunch, centre_spacing_mm=centre_mm)
    centre_overlap_mm = add(carriers.centre_overlap_mm, vane_width_mm=width_mm, centre_spacing_mm=centre_mm)
    held = job.count(name="gap_check_held", value=carriers.HELD)
    close_mm = _close_spacing(job, row, held)
    return {
        "closed_pitch_mm": closed_pitch_mm,
        "overlap_mm": overlap_mm,
        "centre_spacing_mm": centre_mm,
        "centre_overlap_mm": centre_overlap_mm,
        "gap_check_held": held,
        "gap_check_mm": add(carriers.gap_check_split_mm, **bunch, **pitch_and_lead, close_spacing_mm=close_mm),
    }


def _closed_one_bunch(job: Job, row: Row) -> dict:
    add = job.trace.add
    bunch = {"span_mm": row.span_mm, "carriers_total": row.carriers_total}
    closed_pitch_mm = add(carriers.closed_pitch_mm, **bunch)
    overlap_mm = add(carriers.overlap_mm, vane_width_mm=job.spec.vane_width_mm, **bunch)
    held = _held(job, bunch)
    gap_mm = add(
        carriers.gap_check_mm,
        **bunch,
        held=held,
        link_pitch_mm=job.parts.link_pitch_mm,
        carrier_body_mm=job.system.carrier_body_mm,
        close_spacing_mm=_close_spacing(job, row, held),
    )
    return {
        "closed_pitch_mm": closed_pitch_mm,
        "overlap_mm": overlap_mm,
        "centre_spacing_mm": None,
        "centre_overlap_mm": None,
        "gap_check_held": held,
        "gap_check_mm": gap_mm,
    }


def _held(job: Job, bunch: dict) -> int:
    gap_mm = carriers.gap_with_two_held_mm(
        **bunch,
        link_pitch_mm=job.parts.link_pitch_mm,
        carrier_body_mm=job.system.carrier_body_mm,
        lead_body_mm=job.system.lead_body_mm,
    )
    held = carriers.gap_check_held(gap_with_two_held_mm=gap_mm, carriers_total=bunch["carriers_total"])
    return job.count(name="gap_check_held", value=held, gap_with_two_held_mm=gap_mm, least_gap_mm=carriers.LEAST_GAP_MM)


def _close_spacing(job: Job, row: Row, held: int) -> Exact:
    carrier_mm, lead_mm = job.system.carrier_body_mm, job.system.lead_body_mm
    if row.bunch_carriers == held:
        return job.trace.add(carriers.close_spacing_to_lead_mm, carrier_body_mm=carrier_mm, lead_body_mm=lead_mm)
    return job.trace.add(carriers.close_spacing_mm, carrier_body_mm=carrier_mm)


def _stack(job: Job, row: Row, side: str) -> Exact:
    return job.trace.add(
        carriers.stack_mm,
        side=side,
        outermost_mm=row.outermost[side],
        bunch_carriers=row.bunch_carriers,
        carrier_body_mm=job.system.carrier_body_mm,
        lead_body_mm=job.system.lead_body_mm,
    )
