"""What every part of one blind is computed from."""

from typing import NamedTuple

from calc.rounding import Exact
from calc.spec import Spec
from calc.system import System, VaneParts
from calc.trace import Trace, Unwritten


class Job(NamedTuple):
    """One blind on the bench: its specification, system and finished sizes, and the trace that takes the working.

    `looped`: it has cord and chain, and so a control end.
    """

    spec: Spec
    system: System
    parts: VaneParts
    trace: Trace | Unwritten
    finished_width_mm: Exact
    finished_drop_mm: Exact
    looped: bool
