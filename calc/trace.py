"""A figure: its name, formula, the numbers put in, the value, the unit and the source."""

from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

from calc.rounding import Exact, json_number, settled

PRACTICE = "common practice, no source"
PIECES = "pieces"


class Figure(NamedTuple):
    """What a figure says of itself. `formula` is plain arithmetic in the names of the values put in."""

    name: str
    unit: str
    formula: str
    source: str


def figure(*, unit: str, formula: str, source: str = PRACTICE, name: str = "") -> Callable:
    """Marks a rule as a figure. `name` is its path in the answer where that differs from the rule's own name."""

    def mark(rule: Callable) -> Callable:
        rule.figure = Figure(name or rule.__name__, unit, formula, source)
        return rule

    return mark


class Trace:
    """The working of one blind, in the order in which it was computed."""

    __slots__ = ("_revision", "working")

    def __init__(self, *, revision: str):
        self.working: list[dict] = []
        self._revision = revision

    def add(self, rule: Callable, /, *, side: str = "", **values: Exact) -> Exact:
        """Computes a figure from `values`, writes its working down and returns its exact value."""
        name, unit, formula, source = rule.figure
        value = rule(**values)
        if type(value) is not int:
            value = settled(value)
        self.state(f"{name}.{side}" if side else name, value, unit, formula, values, source)
        return value

    def state(self, name: str, value: Exact, unit: str, formula: str, values: dict, source: str = PRACTICE) -> None:
        """Writes down a figure that was looked up or chosen; `formula` in the names of `values`, or a plain number.

        `values` is kept as the working's own, with each number as JSON prints it.
        """
        for key, put_in in values.items():
            if type(put_in) is not int:
                values[key] = json_number(put_in)
        self.working.append(
            {
                "name": name,
                "formula": formula,
                "values": values,
                "value": value if type(value) is int else json_number(value),
                "unit": unit,
                "source": _said(source, self._revision),
            }
        )


class Unwritten:
    """Computes as a Trace does, and writes nothing down."""

    __slots__ = ()

    def add(self, rule: Callable, /, *, side: str = "", **values: Exact) -> Exact:
        value = rule(**values)
        return value if type(value) is int else settled(value)

    def state(self, *stated) -> None:
        """Nobody reads it."""


# Made once: a blind has some fifty figures, and they share a few sources.
@lru_cache(maxsize=1024)
def _said(source: str, revision: str) -> str:
    """A figure's source with the system revision behind it."""
    return f"{source}; {revision}"
