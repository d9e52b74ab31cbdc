"""What the workshop's work costs, each figure as a ratio to a floor that was taken in the same run on the same machine.

Each module has `figures()`: a list of dicts of work, ours, floor, unit, ratio, goal, reached. A floor is the same work
with nothing of ours around it; the module says what exactly that is. Ours and the floor take turns in short rounds, so
that a busy machine holds up both.
"""

from importlib import import_module


def figures_of(part):
    """The figures of the module called `part`."""
    return import_module(f"script.benchmark.{part}").figures()


def alone(work, *, ours, unit, at_most):
    """A figure that has no floor: it is to be `at_most` so much by itself."""
    return {
        "work": work,
        "ours": round(ours, 4),
        "floor": None,
        "unit": unit,
        "ratio": None,
        "goal": f"at most {at_most:g} {unit}",
        "reached": ours <= at_most,
    }


def percentile(values, percent):
    """The value that `percent` of `values` don't exceed, by the nearest rank."""
    ranked = sorted(values)
    return ranked[max(0, -(-len(ranked) * percent // 100) - 1)]
