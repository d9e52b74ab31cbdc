"""What the soak cut off and when, and which missing answers that explains: each cut no more than it can have cost."""

import math
from dataclasses import dataclass
from typing import NamedTuple

NO_ANSWER = 0
UNKNOWN = (NO_ANSWER, 500, 502, 503, 504)
"""Answers by which nobody knows whether what was sent is on record."""
ENDS_WITHIN_S = 5
"""So soon is an answer missing that was cut off. The next cut comes later."""
COSTS = {
    # It has one request in hand: those that wait are taken by the others.
    "page process": (NO_ANSWER, 1),
    "all pages": (NO_ANSWER, math.inf),
    # Nobody shares a connection, and one that is idle is found gone before it is used.
    "a connection": (503, 1),
    "the database": (503, math.inf),
    # A page asks neither for anything while it is answered.
    "live": (None, 0),
    "worker": (None, 0),
}
"""What may be the answer while something is cut off, and how many answers it may cost."""


class Missing(NamedTuple):
    """An answer that leaves the question open: from when until when it was waited for, in seconds since 1970."""

    route: str
    status: int
    began: float
    ended: float
    said: str = ""


@dataclass
class Cut:
    """Something that was killed or restarted, and when it answered again; until then, it is away."""

    what: str
    began: float
    ended: float = math.inf

    def can_explain(self, missing):
        status, most = COSTS[self.what]
        if missing.status != status or missing.ended < self.began:
            return False
        if most == 1:
            return missing.began <= self.began and missing.ended <= self.began + ENDS_WITHIN_S
        return missing.began <= self.ended


def not_explained(found, cuts):
    """Those of `found` for which there is no cut, or none that has not explained as many already as it can."""
    costs = [COSTS[cut.what][1] for cut in cuts]
    left = []
    for missing in sorted(found, key=lambda each: each.ended):
        able = [number for number, cut in enumerate(cuts) if costs[number] and cut.can_explain(missing)]
        if able:
            # Whoever explains any number is asked first.
            costs[max(able, key=lambda number: costs[number])] -= 1
        else:
            left.append(missing)
    return left
