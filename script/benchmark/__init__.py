"""What the workshop's work costs, each figure as a ratio to a floor that was taken in the same run on the same machine.

Each module has `figures()`, a list of what `figure` makes. A floor is the same work with nothing of ours around it; the
module says what exactly that is. Ours and the floor take turns in short rounds, so that a busy machine holds up both.
"""

import statistics


def figure(work, *, ours, floor, unit, ratio=None, at_most=None, at_least=None):
    """One figure. `ratio` is that of `ours` to `floor` unless it was taken round by round; it reaches its goal where it
    is `at_most` or `at_least` so much. Without a floor (None) the goal is for `ours` itself."""
    ratio = ours / floor if ratio is None and floor else ratio
    measured = ours if ratio is None else ratio
    limit = at_least if at_most is None else at_most
    return {
        "work": work,
        "ours": ours,
        "floor": floor,
        "unit": unit,
        "ratio": ratio,
        "goal": f"at {'least' if at_most is None else 'most'} {limit}",
        "reached": measured >= limit if at_most is None else measured <= limit,
    }


def percentile(values, percent):
    """The value that `percent` of `values` don't exceed, by the nearest rank."""
    ranked = sorted(values)
    return ranked[max(0, -(-len(ranked) * percent // 100) - 1)]


def ratio_by_rounds(ours, floor):
    """The median over the rounds of what the ratio was in each, so that no moment of a busy machine decides."""
    return statistics.median(mine / bare for mine, bare in zip(ours, floor, strict=True))
