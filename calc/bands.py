"""Where each verdict on a measured length begins and ends, for a page that must judge without asking."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from calc.rounding import exact, json_number, ratio
from calc.tolerance import OUTSIDE, verdict

BEYOND_MM = 10
"""More than a tape of any class errs by over ten metres: class III by 0.6 + 0.4 x 10 and 0.3 from the hook."""


@dataclass(frozen=True, slots=True)
class Band:
    """Every measured value from `from_mm` to `to_mm`, both included, has this verdict."""

    verdict: str
    from_mm: int | float
    to_mm: int | float


@lru_cache(maxsize=1024)
def bands(*, nominal_mm, tolerance_mm, tape: str = "II") -> tuple[Band, ...]:
    """The verdicts other than 'outside' on values measured in whole tenths of a millimetre, from the shortest on.

    What no band holds is outside. `tape` is the accuracy class of the tape. The tape's error grows by the metre, so
    that a verdict may come in more than one band.
    """
    nominal_mm, tolerance_mm = exact(nominal_mm), exact(tolerance_mm)
    reach_mm = tolerance_mm + BEYOND_MM
    first, last = max(1, 10 * (nominal_mm - reach_mm) // 1), 10 * (nominal_mm + reach_mm) // 1
    judged = (
        (verdict(measured_mm=ratio(tenths, 10), nominal_mm=nominal_mm, tolerance_mm=tolerance_mm, tape=tape), tenths)
        for tenths in range(first, last)
    )
    found = [(name, [tenths for _, tenths in run]) for name, run in groupby(judged, key=lambda each: each[0])]
    return tuple(
        Band(name, json_number(ratio(run[0], 10)), json_number(ratio(run[-1], 10)))
        for name, run in found
        if name != OUTSIDE
    )
