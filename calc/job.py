"""What every part of one blind is computed from."""

from dataclasses import dataclass

from calc.rounding import Exact
from calc.spec import Spec
from calc.system import System, VaneParts
from calc.trace import PIECES, Trace


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One blind on the bench: its specification, system and finished sizes, and the trace that takes the working."""

    spec: Spec
    system: System
    parts: VaneParts
    trace: Trace
    finished_width_mm: Exact
    finished_drop_mm: Exact

    @property
    def looped(self) -> bool:
        """Whether it has cord and chain, and so a control end."""
        return self.spec.operation == "cord_chain"

    def count(self, *, name: str, value: int, formula: str = "", **values: Exact) -> int:
        """Writes down a count that was chosen, not computed; `formula` is the chosen number where none is given."""
        self.trace.state(name, value, PIECES, formula or str(value), values)
        return value
