"""What is broken in a hardware system: each breach names the constants and says by how much."""

from collections.abc import Iterator
from dataclasses import fields
from fractions import Fraction

from calc.rounding import PLACES, Exact, exact_text, half, json_number, mm

REVEAL_MM = 3
CLASSES = ("f", "m", "c", "v")
TAPE_CLASSES = ("I", "II", "III")
_MAY_BE_NOTHING = (
    "recess_width_clearance_mm",
    "recess_drop_clearance_mm",
    "end_cover_mm",
    "rod_shortfall_mm",
    "top_hem_mm",
    "bottom_hem_mm",
    "cord_over_chain_tensioner_mm",
    "cord_over_chain_breakaway_mm",
    "cord_over_chain_weight_mm",
    "bracket_inset_mm",
    "link_tolerance_mm",
)
_MUST_BE_SOMETHING = (
    "revision",
    "control_inset_mm",
    "idle_inset_mm",
    "carrier_body_mm",
    "lead_body_mm",
    "drop_loss_mm",
    "ball_pitch_mm",
    "bracket_span_mm",
    "min_width_mm",
    "min_drop_mm",
    "rail_kg_per_m",
    "rod_kg_per_m",
    "carrier_g",
    "rail_rating_kg",
)
_PARTS_MUST_BE_SOMETHING = ("link_pitch_mm", "bottom_weight_g")
_TUBES = (
    "anchored_tube_one_way_mm",
    "anchored_tube_reverse_mm",
    "anchored_tube_split_mm",
    "lead_tube_one_way_mm",
    "lead_tube_reverse_mm",
)


def breaches(system) -> list[str]:
    """Every reason why no sound blind can be built from `system`; empty where there is none."""
    found = [*_unprintable(system), *_signs(system), *_ranges(system), *_choices(system)]
    for width_mm, parts in ((89, system.vane_89), (127, system.vane_127)):
        found += _part_signs(width_mm, parts)
        found += _clearances(system, width_mm, parts)
        found += _pitches(system, width_mm, parts)
        found += _narrowest(system, width_mm, parts)
    return found


def ends(system, parts) -> Iterator[tuple[str, str, str, str]]:
    """Each way in which an outermost carrier can stand: the draw, and the names of its inset, tube and body."""
    anchored, lead = "carrier_body_mm", "lead_body_mm"
    yield "one_way, anchored end", "control_inset_mm", "anchored_tube_one_way_mm", anchored
    yield "one_way, lead end", "idle_inset_mm", "lead_tube_one_way_mm", lead
    yield "one_way with a wand, anchored end", "idle_inset_mm", "anchored_tube_one_way_mm", anchored
    yield "reverse, anchored end", "idle_inset_mm", "anchored_tube_reverse_mm", anchored
    yield "reverse, lead end", "control_inset_mm", "lead_tube_reverse_mm", lead
    yield "split, control end", "control_inset_mm", "anchored_tube_split_mm", anchored
    yield "split, idle end", "idle_inset_mm", "anchored_tube_split_mm", anchored


def _unprintable(system) -> Iterator[str]:
    """A figure prints the numbers put in to four places, and must come out of them as printed."""
    for record in (system, system.vane_89, system.vane_127):
        for one in fields(record):
            numbers = getattr(record, one.name)
            for number in numbers if isinstance(numbers, tuple) else (numbers,):
                if isinstance(number, Fraction) and 10**PLACES % number.denominator:
                    yield f"{one.name} is {exact_text(number)}; give it with at most {PLACES} decimal places"


def _signs(system) -> Iterator[str]:
    for name in _MUST_BE_SOMETHING:
        if getattr(system, name) <= 0:
            yield f"{name} is {json_number(getattr(system, name))}; it must be above 0"
    for name in _MAY_BE_NOTHING:
        if getattr(system, name) < 0:
            yield f"{name} is {json_number(getattr(system, name))}; it can't be below 0"
    for name in ("control_share", "wand_share"):
        if not 0 < getattr(system, name) <= 1:
            yield f"{name} is {json_number(getattr(system, name))}; a share is above 0 and at most 1"


def _part_signs(width_mm: int, parts) -> Iterator[str]:
    for name in _PARTS_MUST_BE_SOMETHING:
        if getattr(parts, name) <= 0:
            yield f"{width_mm} mm vanes: {name} is {json_number(getattr(parts, name))}; it must be above 0"
    for name in _TUBES:
        if getattr(parts, name) < 0:
            yield f"{width_mm} mm vanes: {name} is {json_number(getattr(parts, name))}; it can't be below 0"


def _ranges(system) -> Iterator[str]:
    for low, high in (("min_width_mm", "max_width_mm"), ("min_drop_mm", "max_drop_mm")):
        short = getattr(system, low) - getattr(system, high)
        if short > 0:
            yield f"{low} is {mm(short)} more than {high}; give the range from narrow to wide"
    short = system.drop_loss_mm - system.min_drop_mm
    if short >= 0:
        yield f"drop_loss_mm {mm(system.drop_loss_mm)} leaves no vane at min_drop_mm {mm(system.min_drop_mm)}"
    rod = system.min_width_mm - 2 * system.end_cover_mm - system.rod_shortfall_mm
    if rod <= 0:
        yield f"end_cover_mm and rod_shortfall_mm leave a tilt rod of {mm(rod)} at min_width_mm"
    if not system.wands_mm:
        yield "wands_mm is empty; stock at least one length"
    elif min(system.wands_mm) <= 0 or list(system.wands_mm) != sorted(set(system.wands_mm)):
        yield "wands_mm must be lengths above 0, each once, shortest first"


def _choices(system) -> Iterator[str]:
    for name in ("rail_class", "tilt_rod_class", "vane_class", "spacer_tube_class", "cord_class", "chain_class"):
        letter = getattr(system, name)
        if letter not in CLASSES:
            yield f"{name} is {letter!r}; ISO 2768-1 has the classes {', '.join(CLASSES)}"
        elif getattr(system, f"above_4000_{letter}_mm") is None:
            yield f"{name} is {letter}, but above_4000_{letter}_mm is not given and the standard's table stops at 4000"
    for letter in CLASSES:
        above = getattr(system, f"above_4000_{letter}_mm")
        if above is not None and above <= 0:
            yield f"above_4000_{letter}_mm is {json_number(above)}; it must be above 0"
    if system.tape_class not in TAPE_CLASSES:
        yield f"tape_class is {system.tape_class!r}; the measuring instruments directive has {', '.join(TAPE_CLASSES)}"


def _clearances(system, width_mm: int, parts) -> Iterator[str]:
    """A closed vane reaches half its width beyond its carrier and must still clear the reveal by 3 mm."""
    needed = half(width_mm) + REVEAL_MM
    for where, inset, tube, body in ends(system, parts):
        inset_mm, tube_mm, body_mm = getattr(system, inset), getattr(parts, tube), getattr(system, body)
        distance = inset_mm + tube_mm + half(body_mm)
        if distance < needed:
            yield (
                f"{width_mm} mm vanes, {where}: {inset} {json_number(inset_mm)} + {tube} {json_number(tube_mm)} + "
                f"{body} {json_number(body_mm)} / 2 = {mm(distance)}, which is {mm(needed - distance)} less than the "
                f"{mm(needed)} (vane width / 2 + {REVEAL_MM}) that a closed vane needs to clear the reveal; "
                f"make the tube or the inset that much longer"
            )


def _pitches(system, width_mm: int, parts) -> Iterator[str]:
    pitch, carrier, lead = parts.link_pitch_mm, system.carrier_body_mm, system.lead_body_mm
    if pitch >= width_mm:
        yield (
            f"{width_mm} mm vanes: link_pitch_mm is {mm(pitch)}, {mm(pitch - width_mm)} above the vane width; "
            f"closed vanes must overlap, so it must be less"
        )
    if lead >= width_mm:
        yield f"{width_mm} mm vanes: lead_body_mm {mm(lead)} leaves the middle pair no overlap; it must be less"
    # The narrowest right split bunch leaves this much in the gap check; without it a right count would show no gap.
    gap = pitch - max(2 * carrier + lead, carrier + 2 * lead)
    if gap <= 0:
        yield (
            f"{width_mm} mm vanes: link_pitch_mm {mm(pitch)} must exceed two carrier bodies and a lead body, and a "
            f"carrier body and two lead bodies; it is {mm(-gap)} short, and the gap check of a right count shows no gap"
        )


def _narrowest(system, width_mm: int, parts) -> Iterator[str]:
    """A bunch is at least an anchored carrier and a lead carrier, on a split blind one such pair a side."""
    spans = {
        "one_way": _span(system, parts, "anchored_tube_one_way_mm", "lead_tube_one_way_mm", system.lead_body_mm),
        "reverse": _span(system, parts, "anchored_tube_reverse_mm", "lead_tube_reverse_mm", system.lead_body_mm),
        "split": _span(system, parts, "anchored_tube_split_mm", "anchored_tube_split_mm", system.carrier_body_mm),
    }
    for draw, span in spans.items():
        least = parts.link_pitch_mm if draw == "split" else 0
        if span <= least:
            yield (
                f"{width_mm} mm vanes, {draw}: at min_width_mm {mm(system.min_width_mm)} the outermost carriers stand "
                f"{mm(span)} apart; they need more than {mm(least)}: raise min_width_mm by over {mm(least - span)}"
            )


def _span(system, parts, anchored: str, lead: str, lead_body_mm: Exact) -> Exact:
    tubes = getattr(parts, anchored) + getattr(parts, lead)
    bodies = half(system.carrier_body_mm) + half(lead_body_mm)
    return system.min_width_mm - system.control_inset_mm - system.idle_inset_mm - tubes - bodies
