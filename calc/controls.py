"""The controls: how far the chain hangs, its balls, the cord that follows it, and the wand in their place.

Every argument is an exact number; lengths are millimetres. A drop is how far a loop hangs below the rail, half its way
round.
"""

from collections.abc import Sequence

from calc.findings import finding
from calc.rounding import Exact, half, mm, product
from calc.safety import market_note
from calc.trace import PIECES, PRACTICE, Figure, figure

STOCKED_WAND = Figure(
    "wand_mm",
    "mm",
    "stocked_wand_mm",
    ("wand_share", "finished_drop_mm", "stocked_wand_mm"),
    f"the longest stocked wand not above the share of the drop, at least the shortest: {PRACTICE}",
)
LOOP_KEYS = ("chain_balls", "chain_loop_mm", "chain_drop_mm", "cord_drop_mm", "cord_cut_mm")


@figure(unit="mm", formula="longest_loop_mm - cord_over_chain_mm")
def longest_chain_mm(*, longest_loop_mm: Exact, cord_over_chain_mm: Exact) -> Exact:
    """Longest chain drop: the cord hangs lower than the chain, and neither may hang below the market's limit."""
    return longest_loop_mm - cord_over_chain_mm


@figure(unit="mm", formula="control_drop_mm", name="wanted_chain_mm")
def wanted_chain_asked_mm(*, control_drop_mm: Exact) -> Exact:
    """Chain drop that sales asked for."""
    return control_drop_mm


@figure(unit="mm", formula="min(control_share * finished_drop_mm, longest_chain_mm)", name="wanted_chain_mm")
def wanted_chain_limited_mm(*, control_share: Exact, finished_drop_mm: Exact, longest_chain_mm: Exact) -> Exact:
    """Chain drop where sales asked for none: the system's share of the drop, at most the longest chain."""
    return min(product(control_share, finished_drop_mm), longest_chain_mm)


@figure(unit="mm", formula="control_share * finished_drop_mm", name="wanted_chain_mm")
def wanted_chain_mm(*, control_share: Exact, finished_drop_mm: Exact) -> Exact:
    """Chain drop where sales asked for none and the market's rule gives no longest chain."""
    return product(control_share, finished_drop_mm)


@figure(unit=PIECES, formula="floor(2 * wanted_chain_mm / ball_pitch_mm)")
def chain_balls(*, wanted_chain_mm: Exact, ball_pitch_mm: Exact) -> int:
    """Whole balls of the loop, rounded down so that it never hangs lower than wanted."""
    return 2 * wanted_chain_mm // ball_pitch_mm


@figure(unit="mm", formula="chain_balls * ball_pitch_mm")
def chain_loop_mm(*, chain_balls: int, ball_pitch_mm: Exact) -> Exact:
    """The chain's way round."""
    return chain_balls * ball_pitch_mm


@figure(unit="mm", formula="chain_loop_mm / 2", name="chain_drop_mm")
def chain_drop_mm(*, chain_loop_mm: Exact) -> Exact:
    """Nominal chain drop: half the loop."""
    return half(chain_loop_mm)


@figure(unit="mm", formula="measured_chain_mm", name="chain_drop_mm")
def chain_drop_measured_mm(*, measured_chain_mm: Exact) -> Exact:
    """Chain drop as measured at the bench, in place of the nominal one: chains vary."""
    return measured_chain_mm


@figure(unit="mm", formula="chain_drop_mm + cord_over_chain_mm")
def cord_drop_mm(*, chain_drop_mm: Exact, cord_over_chain_mm: Exact) -> Exact:
    """How far the cord hangs: it follows the chain."""
    return chain_drop_mm + cord_over_chain_mm


@figure(unit="mm", formula="2 * (rail_cut_mm + cord_drop_mm)")
def cord_cut_mm(*, rail_cut_mm: Exact, cord_drop_mm: Exact) -> Exact:
    """Cut length of the cord: along the rail and down the drop, doubled over."""
    return 2 * (rail_cut_mm + cord_drop_mm)


def stocked_wand_mm(*, wands_mm: Sequence[Exact], wand_share: Exact, finished_drop_mm: Exact) -> Exact:
    """The longest stocked wand not above the system's share of the drop, at least the shortest.

    `wands_mm` is not empty.
    """
    most_mm = product(wand_share, finished_drop_mm)
    return max([wand for wand in wands_mm if wand <= most_mm], default=min(wands_mm))


def wand_parts(job, row, found: list[dict]) -> dict:
    """The wands of `job`, one a bunch, in place of cord and chain; adds to `found`."""
    share, wands_mm = job.system.wand_share, job.system.wands_mm
    drop_mm = job.finished_drop_mm
    wand_mm = stocked_wand_mm(wands_mm=wands_mm, wand_share=share, finished_drop_mm=drop_mm)
    job.trace.state(STOCKED_WAND, wand_mm, wand_share=share, finished_drop_mm=drop_mm, stocked_wand_mm=wand_mm)
    if wand_mm > drop_mm:
        found.append(_wand_longer(wand_mm, drop_mm))
    found.append(market_note(market=job.spec.market, operation="wand", rule=None))
    counts = {name: job.trace.count(name, 0) for name in ("tensioners", "warning_tags")}
    wands = job.trace.count("wands", row.bunches, "bunches", bunches=row.bunches)
    return dict.fromkeys(LOOP_KEYS) | {**counts, "longest_chain_mm": None, "wand_mm": wand_mm, "wands": wands}


def _wand_longer(wand_mm: Exact, drop_mm: Exact) -> dict:
    message = (
        f"The shortest stocked wand is {mm(wand_mm)}, longer than the finished drop of "
        f"{mm(drop_mm)}. Cut it at the bench, or tell the customer that it hangs below the blind."
    )
    return finding(code="wand_longer_than_blind", field="operation", message=message, source=PRACTICE)
