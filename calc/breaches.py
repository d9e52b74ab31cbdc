"""What is broken in a hardware system: each breach names the constants and says by how much."""

from collections.abc import Iterator
from dataclasses import fields
from fractions import Fraction

from calc.lengths import (
    Cut,
    drops,
    from_to,
    loop_cuts,
    measured_cuts,
    pieces,
    rail_less_mm,
    rod_less_mm,
    tubes,
    vane_more_mm,
    widths,
)
from calc.rounding import PLACES, exact_text, half, json_number, mm
from calc.tolerance import ISO_2768_UP_TO_MM, cut_tolerance_mm
from calc.widths import CASES, Breach, Case, outermost_mm, row_breaches

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
    """Every reason why no sound blind can be built from `system`, in words; empty where there is none."""
    return [breach.message for breach in broken(system)]


def broken(system) -> list[Breach]:
    """Every reason why no sound blind can be built from `system`, each with a blind that shows it where it takes one.

    What hangs on a width is looked for only once the constants make sense by themselves.
    """
    plain = [*_unprintable(system), *_signs(system), *_ranges(system), *_choices(system)]
    found = [Breach(message) for message in plain]
    by_width = [(89, system.vane_89), (127, system.vane_127)]
    senseless = [Breach(message) for width_mm, parts in by_width for message in _part_signs(width_mm, parts)]
    for width_mm, parts in by_width:
        found += _clearances(system, width_mm, parts)
        found += _overlaps(system, width_mm, parts)
    if plain or senseless:
        return found + senseless
    for width_mm, parts in by_width:
        found += row_breaches(system, width_mm, parts)
    return [*found, *_without_tolerance(system)]


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
    for low, high, sizes in (
        ("min_width_mm", "max_width_mm", widths(system)),
        ("min_drop_mm", "max_drop_mm", drops(system)),
    ):
        short = getattr(system, low) - getattr(system, high)
        if short > 0:
            yield f"{low} is {mm(short)} more than {high}; give the range from narrow to wide"
        elif sizes.last() is None:
            yield f"no size in tenths lies between {low} and {high} ({mm(getattr(system, low))})"
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
    for letter in CLASSES:
        above = getattr(system, f"above_4000_{letter}_mm")
        if above is not None and above <= 0:
            yield f"above_4000_{letter}_mm is {json_number(above)}; it must be above 0"
    if system.tape_class not in TAPE_CLASSES:
        yield f"tape_class is {system.tape_class!r}; the measuring instruments directive has {', '.join(TAPE_CLASSES)}"


def _clearances(system, width_mm: int, parts) -> Iterator[Breach]:
    """A closed vane reaches half its width beyond its carrier and must still clear the reveal by 3 mm."""
    needed, said = half(width_mm) + REVEAL_MM, set()
    for case in CASES:
        for end in case.ends:
            distance = outermost_mm(system, parts, end)
            constants = end.inset, end.tube, end.body
            if distance < needed and constants not in said:
                said.add(constants)
                inset_mm, tube_mm, body_mm = (
                    getattr(system, end.inset),
                    getattr(parts, end.tube),
                    getattr(system, end.body),
                )
                yield Breach(
                    f"{width_mm} mm vanes, {case.words}, {end.where}: {end.inset} {json_number(inset_mm)} + {end.tube} "
                    f"{json_number(tube_mm)} + {end.body} {json_number(body_mm)} / 2 = {mm(distance)}, which is "
                    f"{mm(needed - distance)} less than the {mm(needed)} (vane width / 2 + {REVEAL_MM}) that a closed "
                    f"vane needs to clear the reveal; make the tube or the inset that much longer",
                    _widest(system, width_mm, case),
                )


def _overlaps(system, width_mm: int, parts) -> Iterator[Breach]:
    """A link drawn out to its pitch, and a middle pair whose lead carriers touch, must leave the vanes overlapping."""
    pitch_mm, lead_mm = parts.link_pitch_mm, system.lead_body_mm
    if pitch_mm >= width_mm:
        yield Breach(
            f"{width_mm} mm vanes: link_pitch_mm is {mm(pitch_mm)}, {mm(pitch_mm - width_mm)} above the vane width; "
            f"closed vanes must overlap, so it must be less"
        )
    if lead_mm >= width_mm:
        split = next(case for case in CASES if case.draw == "split")
        yield Breach(
            f"{width_mm} mm vanes: lead_body_mm is {mm(lead_mm)}, {mm(lead_mm - width_mm)} above the vane width, and "
            f"leaves the middle pair no overlap; it must be less",
            _widest(system, width_mm, split),
        )


def _widest(system, vane_width_mm: int, case: Case) -> dict | None:
    """The widest blind of `case`, or None where the range is empty."""
    width_mm = widths(system).last()
    return None if width_mm is None else case.blind(vane_width_mm=vane_width_mm, width_mm=width_mm)


def _without_tolerance(system) -> Iterator[Breach]:
    """Lengths that a part can come to and for which its class has no tolerance: nobody could judge the cut."""
    for cut in (*measured_cuts(system), *loop_cuts(system)):
        letter = getattr(system, cut.tolerance_class)
        for low_mm, high_mm in pieces(cut.least_mm, cut.most_mm, by_metre=False):
            if cut_tolerance_mm(length_mm=high_mm, tolerance_class=letter, system=system) is not None:
                continue
            message = f"{cut.part} of {from_to(low_mm, high_mm)}: {_remedy(cut, letter, high_mm)}"
            yield Breach(message, _shown(system, cut, high_mm))


def _remedy(cut: Cut, letter: str, length_mm) -> str:
    if length_mm > ISO_2768_UP_TO_MM[-1]:
        return (
            f"{cut.tolerance_class} is {letter}, but above_4000_{letter}_mm is not given and the standard's table "
            f"stops at {ISO_2768_UP_TO_MM[-1]}; give it"
        )
    if not length_mm:
        return "a tube without length gives no tolerance to the gap check; make it at least 0.5 mm"
    return f"{cut.tolerance_class} {letter} gives no tolerance at that length; pick another class"


def _shown(system, cut: Cut, length_mm) -> dict | None:
    """A blind that has the part `cut` as long as `length_mm`, or as near below as an order can come."""
    if cut.part == "rail":
        return {"finished_width_mm": widths(system).last_to(length_mm + rail_less_mm(system))}
    if cut.part == "tilt rod":
        return {"finished_width_mm": widths(system).last_to(length_mm + rod_less_mm(system))}
    if cut.part == "vane":
        return {"finished_drop_mm": drops(system).last_to(length_mm - vane_more_mm(system))}
    if cut.part == "spacer tube":
        width_mm, name = next(key for key, tube_mm in tubes(system).items() if tube_mm == length_mm)
        return {"vane_width_mm": width_mm, "draw": name.split("_tube_")[1].removesuffix("_mm")}
    return None
