"""The row of carriers put together: which end bunches, where the outermost stand, how many, how they close."""

from functools import cache, lru_cache
from typing import NamedTuple

from calc import carriers
from calc.job import Job
from calc.rounding import Exact
from calc.system import System
from calc.trace import Figure, Trace

SIDES = ("left", "right")
OTHER = {"left": "right", "right": "left"}


class Ends(NamedTuple):
    """The two ends of a row, which hang on no size; by side, exact millimetres."""

    bunched: tuple[str, ...]
    tubes: dict[str, Exact]
    outermost: dict[str, Exact]
    working: Trace


class Bunches(NamedTuple):
    """What follows from how many carriers a bunch has, whatever the sizes."""

    counts: dict[str, int]
    stack: dict[str, Exact | None]
    counted: Trace
    stacked: Trace


class Row(NamedTuple):
    """The closed row of carriers."""

    ends: Ends
    span_mm: Exact
    carriers_total: int
    bunch_carriers: int
    bunches: int


def bunched_sides(*, draw: str, hand: str) -> tuple[str, ...]:
    """The ends where bunches gather: the hand's on one way, the other on reverse, both on split."""
    if draw == "split":
        return SIDES
    return (hand,) if draw == "one_way" else (OTHER[hand],)


def row_of(job: Job) -> Row:
    """The row of `job`. A bunch of fewer than two carriers can't be built: the caller refuses it."""
    ends = _ends(*_kind(job))
    job.trace.take(ends.working)
    add = job.trace.add
    span_mm = add(
        carriers.span_mm,
        finished_width_mm=job.finished_width_mm,
        outermost_left_mm=ends.outermost["left"],
        outermost_right_mm=ends.outermost["right"],
    )
    bunches = len(ends.bunched)
    total = add(carriers.carriers_total, span_mm=span_mm, link_pitch_mm=job.parts.link_pitch_mm, bunches=bunches)
    each = add(carriers.bunch_carriers, carriers_total=total, bunches=bunches)
    return Row(ends, span_mm, total, each, bunches)


def carrier_parts(job: Job, row: Row) -> dict:
    """The carriers, tubes and stops, how the blind closes, its gap check and its stack."""
    bunches = _bunches(*_kind(job), row.bunch_carriers)
    job.trace.take(bunches.counted)
    closed = _closed_split(job, row) if job.spec.draw == "split" else _closed_one_bunch(job, row)
    job.trace.take(bunches.stacked)
    return {
        "carriers": bunches.counts,
        "spacer_tubes_mm": row.ends.tubes,
        "rail_stops": row.bunches,
        **closed,
        "stack_mm": bunches.stack,
    }


def carrier_counts(job: Job, row: Row) -> dict[str, int]:
    """The carriers of each hand, lead carriers among them, and how many of these there are."""
    return _bunches(*_kind(job), row.bunch_carriers).counts


def _kind(job: Job) -> tuple[System, int, str, str, bool]:
    """All that the ends of `job` hang on."""
    return job.system, job.spec.vane_width_mm, job.spec.draw, job.spec.hand, job.looped


# Two vane widths, three draws, two hands, with a loop or without: two dozen kinds of each system.
@lru_cache(maxsize=512)
def _ends(system: System, vane_width_mm: int, draw: str, hand: str, looped: bool) -> Ends:
    trace, parts = Trace(), system.parts(vane_width_mm=vane_width_mm)
    bunched = bunched_sides(draw=draw, hand=hand)
    tubes = {}
    for side in SIDES:
        name = f"{'anchored' if side in bunched else 'lead'}_tube_{draw}_mm"
        tubes[side] = getattr(parts, name)
        trace.state(_tube(side, name), tubes[side], **{name: tubes[side]})
    outermost = {
        side: trace.add(
            carriers.outermost_mm,
            side=side,
            # A wand blind has no control end: both ends carry idle end sets.
            inset_mm=system.control_inset_mm if looped and side == hand else system.idle_inset_mm,
            tube_mm=tubes[side],
            body_mm=system.carrier_body_mm if side in bunched else system.lead_body_mm,
        )
        for side in SIDES
    }
    return Ends(bunched, tubes, outermost, trace)


@cache
def _tube(side: str, name: str) -> Figure:
    return Figure(f"spacer_tubes_mm.{side}", "mm", name, (name,))


@lru_cache(maxsize=4096)
def _bunches(system: System, vane_width_mm: int, draw: str, hand: str, looped: bool, bunch_carriers: int) -> Bunches:
    ends = _ends(system, vane_width_mm, draw, hand, looped)
    bunches = len(ends.bunched)
    counted, stacked = Trace(), Trace()
    counts = {"total": bunches * bunch_carriers}
    for side in SIDES:
        counts[side] = bunch_carriers if side in ends.bunched else 0
        if counts[side]:
            counted.count(f"carriers.{side}", bunch_carriers, "bunch_carriers", bunch_carriers=bunch_carriers)
        else:
            counted.count(f"carriers.{side}", 0)
    counts["lead"] = counted.count("carriers.lead", bunches, "bunches", bunches=bunches)
    counted.count("rail_stops", bunches, "bunches", bunches=bunches)
    stack = {side: _stack(stacked, system, ends, side, bunch_carriers) for side in SIDES}
    return Bunches(counts, stack, counted, stacked)


def _stack(trace: Trace, system: System, ends: Ends, side: str, bunch_carriers: int) -> Exact | None:
    if side not in ends.bunched:
        return None
    return trace.add(
        carriers.stack_mm,
        side=side,
        outermost_mm=ends.outermost[side],
        bunch_carriers=bunch_carriers,
        carrier_body_mm=system.carrier_body_mm,
        lead_body_mm=system.lead_body_mm,
    )


def _closed_split(job: Job, row: Row) -> dict:
    add, width_mm = job.trace.add, job.spec.vane_width_mm
    bunch = {"span_mm": row.span_mm, "bunch_carriers": row.bunch_carriers}
    pitch_and_lead = {"link_pitch_mm": job.parts.link_pitch_mm, "lead_body_mm": job.system.lead_body_mm}
    centre_mm = add(carriers.centre_spacing_mm, **bunch, **pitch_and_lead)
    closed_pitch_mm = add(carriers.closed_pitch_split_mm, **bunch, centre_spacing_mm=centre_mm)
    overlap_mm = add(carriers.overlap_split_mm, vane_width_mm=width_mm, **bunch, centre_spacing_mm=centre_mm)
    centre_overlap_mm = add(carriers.centre_overlap_mm, vane_width_mm=width_mm, centre_spacing_mm=centre_mm)
    held = job.trace.count("gap_check_held", carriers.HELD)
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
    return job.trace.count("gap_check_held", held, gap_with_two_held_mm=gap_mm, least_gap_mm=carriers.LEAST_GAP_MM)


def _close_spacing(job: Job, row: Row, held: int) -> Exact:
    carrier_mm, lead_mm = job.system.carrier_body_mm, job.system.lead_body_mm
    if row.bunch_carriers == held:
        return job.trace.add(carriers.close_spacing_to_lead_mm, carrier_body_mm=carrier_mm, lead_body_mm=lead_mm)
    return job.trace.add(carriers.close_spacing_mm, carrier_body_mm=carrier_mm)
