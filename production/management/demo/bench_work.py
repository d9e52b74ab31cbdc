"""What a maker enters at the bench in the demo: ticks, right counts, and lengths a little off their figures."""

from calc.components import components
from production import steps


def entries(*, blind, station, systems, rng):
    """The steps that must be entered for `blind` (a Piece) at `station`, in order, each as (key, value)."""
    figures = blind.components
    if blind.measured_chain_mm is not None:
        figures = components({**blind.spec, "measured_chain_mm": blind.measured_chain_mm}, systems=systems)
    wanted = steps.steps_for(
        station=station,
        spec=blind.spec,
        components=figures,
        nominal=blind.components,
        special_instruction=blind.special_instruction,
        concerns=blind.concerns,
    )
    return [(step.key, _value(step, rng=rng)) for step in wanted if step.must]


def _value(step, *, rng):
    if step.kind == steps.COUNT:
        return step.expected
    if step.kind == steps.NOTE:
        return f"{rng.choice('KLM')}{rng.randrange(210, 240)}"
    return _measured(step, rng=rng) if step.kind == steps.MEASURE else True


def _measured(step, *, rng):
    """The figure to half a millimetre, mostly well inside its tolerance; now and then so near its end that the tape's
    own error leaves it in doubt. A chain is never measured long, since then its cord might hang too low."""
    share = rng.uniform(0, 0.4) if rng.random() < 0.95 else rng.uniform(0.9, 1)
    sign = -1 if step.key in ("chain", "loop") else rng.choice((-1, 1))
    off = sign * int(2 * share * step.tolerance_mm) / 2
    length = round(10 * (step.expected + off))
    return length // 10 if length % 10 == 0 else length / 10
