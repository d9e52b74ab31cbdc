"""What goes wrong with a row of carriers at some finished width inside a hardware system's range.

The count steps up each time the span passes a multiple of the link pitch, and between two steps every figure grows with
the width; only one bunch's gap falls back, to the least that proves a count, where two held first do. So a row is worst
at the narrowest width, or at the first width that an order can come to past a multiple: those are worked out, with the
rules that the calculation uses, and no other width need be.
"""

from collections.abc import Iterator
from typing import NamedTuple

from calc import carriers
from calc.lengths import widths
from calc.rounding import Exact, half, mm

MOST_CARRIERS = 500


class Breach(NamedTuple):
    """What is broken, in words, and a blind that shows it; None where no blind is needed to see it."""

    message: str
    blind: dict | None = None


class End(NamedTuple):
    """Where an outermost carrier stands, by the names of its constants."""

    where: str
    inset: str
    tube: str
    body: str


class Case(NamedTuple):
    """A draw with an operation, and the two ends of its row."""

    draw: str
    operation: str
    ends: tuple[End, End]

    @property
    def split(self) -> bool:
        return self.draw == "split"

    @property
    def bunches(self) -> int:
        return 2 if self.split else 1

    @property
    def words(self) -> str:
        draw = self.draw.replace("_", " ")
        return f"{draw} with a wand" if self.operation == "wand" else draw

    def blind(self, *, vane_width_mm: int, width_mm: Exact) -> dict:
        """The blind of this case that has the finished width `width_mm`, under the names of a specification."""
        return {
            "draw": self.draw,
            "operation": self.operation,
            "vane_width_mm": vane_width_mm,
            "finished_width_mm": width_mm,
        }


def _cases() -> Iterator[Case]:
    """Every draw with every operation that it is made with. A wand blind carries idle end sets at both ends."""
    control, idle = "control_inset_mm", "idle_inset_mm"
    for draw, operation, anchored, far in (
        ("one_way", "cord_chain", control, idle),
        ("reverse", "cord_chain", idle, control),
        ("one_way", "wand", idle, idle),
    ):
        first = End("anchored end", anchored, f"anchored_tube_{draw}_mm", "carrier_body_mm")
        yield Case(draw, operation, (first, End("lead end", far, f"lead_tube_{draw}_mm", "lead_body_mm")))
    tube_and_body = "anchored_tube_split_mm", "carrier_body_mm"
    control_end, idle_end = End("control end", control, *tube_and_body), End("idle end", idle, *tube_and_body)
    yield Case("split", "cord_chain", (control_end, idle_end))
    yield Case("split", "wand", (idle_end, idle_end))


CASES = tuple(_cases())


class Row(NamedTuple):
    """One row at one finished width, as the calculation makes it; the figures are None where it can't be built.

    `links` is the number of links drawn out in the gap check.
    """

    width_mm: Exact
    span_mm: Exact
    total: int
    each: int
    links: int | None
    gap_mm: Exact | None
    closed_pitch_mm: Exact | None


def outermost_mm(system, parts, end: End) -> Exact:
    """Where the outermost carrier of `end` stands from the finished end."""
    return carriers.outermost_mm(
        inset_mm=getattr(system, end.inset), tube_mm=getattr(parts, end.tube), body_mm=getattr(system, end.body)
    )


def row_at(system, parts, case: Case, width_mm: Exact) -> Row:
    """The row of `case` at the finished width `width_mm`."""
    left_mm, right_mm = (outermost_mm(system, parts, end) for end in case.ends)
    span_mm = carriers.span_mm(finished_width_mm=width_mm, outermost_left_mm=left_mm, outermost_right_mm=right_mm)
    total = carriers.carriers_total(span_mm=span_mm, link_pitch_mm=parts.link_pitch_mm, bunches=case.bunches)
    each = carriers.bunch_carriers(carriers_total=total, bunches=case.bunches)
    if each < 2:
        return Row(width_mm, span_mm, total, each, None, None, None)
    figures = _split if case.split else _one_bunch
    return Row(width_mm, span_mm, total, each, *figures(system, parts, span_mm, each))


def _split(system, parts, span_mm: Exact, each: int) -> tuple[int, Exact, Exact]:
    links = 2 * (each - carriers.HELD)
    known = {"span_mm": span_mm, "bunch_carriers": each}
    centre_mm = carriers.centre_spacing_mm(**known, link_pitch_mm=parts.link_pitch_mm, lead_body_mm=system.lead_body_mm)
    gap_mm = carriers.gap_check_split_mm(
        **known,
        link_pitch_mm=parts.link_pitch_mm,
        close_spacing_mm=_close_mm(system, links),
        lead_body_mm=system.lead_body_mm,
    )
    return links, gap_mm, carriers.closed_pitch_split_mm(**known, centre_spacing_mm=centre_mm)


def _one_bunch(system, parts, span_mm: Exact, total: int) -> tuple[int, Exact, Exact]:
    known = {"span_mm": span_mm, "carriers_total": total}
    lengths = {"link_pitch_mm": parts.link_pitch_mm, "carrier_body_mm": system.carrier_body_mm}
    two_held_mm = carriers.gap_with_two_held_mm(**known, **lengths, lead_body_mm=system.lead_body_mm)
    held = carriers.gap_check_held(gap_with_two_held_mm=two_held_mm, carriers_total=total)
    links = total - held
    gap_mm = carriers.gap_check_mm(**known, **lengths, held=held, close_spacing_mm=_close_mm(system, links))
    return links, gap_mm, carriers.closed_pitch_mm(**known)


def _close_mm(system, links: int) -> Exact:
    """Axis to axis of the last pair that the gap check holds back: with the lead carrier where no link is drawn out."""
    return system.carrier_body_mm if links else half(system.carrier_body_mm + system.lead_body_mm)


def row_breaches(system, vane_width_mm: int, parts) -> Iterator[Breach]:
    """Each case that fails at a width inside the range, which holds one, with the width at which it fails worst."""
    sizes = widths(system)
    widest_mm = sizes.last()
    for case in CASES:
        most = row_at(system, parts, case, widest_mm).total
        if most > MOST_CARRIERS:
            yield Breach(
                f"{vane_width_mm} mm vanes, {case.words}: {most} carriers at {mm(widest_mm)}; a blind of more than "
                f"{MOST_CARRIERS} is none: correct link_pitch_mm {mm(parts.link_pitch_mm)} or max_width_mm",
                case.blind(vane_width_mm=vane_width_mm, width_mm=widest_mm),
            )
            continue
        past_steps = (sizes.first_above(step_mm) for step_mm in steps_mm(system, parts, case))
        critical = [sizes.first_mm, *(width_mm for width_mm in past_steps if width_mm is not None)]
        rows = [row_at(system, parts, case, width_mm) for width_mm in critical]
        for row, message in _worst(system, parts, case, rows):
            shown = case.blind(vane_width_mm=vane_width_mm, width_mm=row.width_mm)
            yield Breach(f"{vane_width_mm} mm vanes, {case.words}: at a finished width of {message}", shown)


def steps_mm(system, parts, case: Case) -> Iterator[Exact]:
    """The finished widths past which the count may step up: the span is a multiple of the link pitch."""
    step_mm = sum(outermost_mm(system, parts, end) for end in case.ends)
    while step_mm < system.max_width_mm:
        yield step_mm
        step_mm += parts.link_pitch_mm


def _worst(system, parts, case: Case, rows: list[Row]) -> Iterator[tuple[Row, str]]:
    if rows[0].gap_mm is None:
        yield rows[0], _too_narrow(parts, case, rows[0])
    built = [row for row in rows if row.gap_mm is not None]
    if built:
        bodies = f"carrier_body_mm {mm(system.carrier_body_mm)} and lead_body_mm {mm(system.lead_body_mm)}"
        yield from _gap(parts, case, min(built, key=lambda row: row.gap_mm), bodies)
        yield from _touching(max(built, key=lambda row: _short_mm(system, row)), system, bodies)


def _too_narrow(parts, case: Case, row: Row) -> str:
    least_mm = parts.link_pitch_mm if case.split else 0
    return (
        f"{mm(row.width_mm)} the outermost carriers stand {mm(row.span_mm)} apart, so that a bunch has fewer than two; "
        f"they need more than {mm(least_mm)}: raise min_width_mm by over {mm(least_mm - row.span_mm)}"
    )


def _gap(parts, case: Case, row: Row, bodies: str) -> Iterator[tuple[Row, str]]:
    """A split blind's gap check must show a gap at all; one bunch's a gap that proves the count."""
    least_mm = carriers.LEAST_GAP_MM
    if case.split:
        fails, wrong = row.gap_mm <= 0, "and shows no gap: it must be above 0 mm"
    else:
        fails = row.gap_mm < least_mm
        wrong = f"{mm(least_mm - row.gap_mm)} under the {mm(least_mm)} that prove a count"
    if fails:
        yield (
            row,
            f"{mm(row.width_mm)} the gap check of a right count comes to {mm(row.gap_mm)} with link_pitch_mm "
            f"{mm(parts.link_pitch_mm)}, {bodies}, {wrong}; lengthen the link, or raise min_width_mm above that width",
        )


def _touching(row: Row, system, bodies: str) -> Iterator[tuple[Row, str]]:
    short_mm = _short_mm(system, row)
    if short_mm > 0:
        yield (
            row,
            f"{mm(row.width_mm)} {row.total} carriers stand {mm(row.closed_pitch_mm)} apart when closed, "
            f"{mm(short_mm)} less than {bodies} take up; lengthen the link, or raise min_width_mm above that width",
        )


def _short_mm(system, row: Row) -> Exact:
    """By how much closed neighbours are nearer than they can be; in a bunch of two the only pair is the lead's."""
    apart_mm = half(system.carrier_body_mm + system.lead_body_mm)
    if row.each > 2:
        apart_mm = max(apart_mm, system.carrier_body_mm)
    return apart_mm - row.closed_pitch_mm
