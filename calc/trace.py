"""A figure: its name, formula, the numbers put in, the value, the unit and the source."""

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import islice
from operator import itemgetter

from calc.rounding import Exact, json_number, settled

PRACTICE = "common practice, no source"
PIECES = "pieces"
_HOLE = "\0"


@dataclass(eq=False)
class Figure:
    """What a figure says of itself. `formula` is plain arithmetic in the names of the values put in.

    Each is made once: blinds that state the same figures are known by their being the very same.
    """

    name: str
    unit: str
    formula: str
    put_in: tuple[str, ...]
    source: str = PRACTICE

    def __post_init__(self):
        one, *more = self.put_in or (None,)
        self.values_of = itemgetter(*self.put_in) if more else lambda values: (values[one],) if one else ()

    @cache  # noqa: B019 - as many as there are rules with sides
    def of_side(self, side: str) -> "Figure":
        return Figure(f"{self.name}.{side}", self.unit, self.formula, self.put_in, self.source)


def figure(*, unit: str, formula: str, source: str = PRACTICE, name: str = "") -> Callable:
    """Marks a rule as a figure. `name` is its path in the answer where that differs from the rule's own name."""

    def mark(rule: Callable) -> Callable:
        code = rule.__code__
        put_in = code.co_varnames[: code.co_kwonlyargcount]
        rule.figure = Figure(name or rule.__name__, unit, formula, put_in, source)
        return rule

    return mark


class Trace:
    """The figures of one blind, in the order in which they were computed."""

    __slots__ = ("_numbers", "_stated")

    def __init__(self):
        # The figures, and for all of them in a row the numbers put in and the value.
        self._stated: list[Figure] = []
        self._numbers: list[Exact] = []

    def add(self, rule: Callable, /, *, side: str = "", **values: Exact) -> Exact:
        """Computes a figure from `values`, keeps it and returns its exact value."""
        value = rule(**values)
        if type(value) is not int:
            value = settled(value)
        figure = rule.figure
        self._stated.append(figure.of_side(side) if side else figure)
        self._numbers += figure.values_of(values)
        self._numbers.append(value)
        return value

    def state(self, figure: Figure, value: Exact, /, **values: Exact) -> None:
        """Keeps a figure that was looked up or chosen; its formula in the names of `values`, or a plain number."""
        self._stated.append(figure)
        self._numbers += figure.values_of(values)
        self._numbers.append(value)

    def count(self, name: str, value: int, formula: str = "", /, **values: Exact) -> int:
        """Keeps a count that was chosen, not computed; `formula` is the chosen number where none is given."""
        self.state(_chosen(name, formula or str(value), *values), value, **values)
        return value

    def take(self, other: "Trace") -> None:
        """Keeps figures that were computed before."""
        self._stated += other._stated
        self._numbers += other._numbers

    def working(self, *, revision: str) -> list[dict]:
        """Each figure with its working, as plain JSON values. `revision` is the system's that stands behind them."""
        numbers = iter(_printable(self._numbers))
        return [_entry(each, list(islice(numbers, len(each.put_in))), next(numbers), revision) for each in self._stated]

    def text(self, *, revision: str) -> str:
        """`working` as `json.dumps` writes it."""
        return _holed(tuple(self._stated), revision) % tuple(_printable(self._numbers))


class Unwritten:
    """Computes as a Trace does, and keeps nothing."""

    __slots__ = ()

    def add(self, rule: Callable, /, *, side: str = "", **values: Exact) -> Exact:
        value = rule(**values)
        return value if type(value) is int else settled(value)

    def state(self, *stated, **values) -> None:
        """Nobody reads it."""

    def count(self, name: str, value: int, *stated, **values) -> int:
        return value

    def take(self, other: Trace) -> None:
        """Nobody reads it."""


def _printable(exact: Iterable[Exact]) -> list[int | float]:
    """Each number as JSON prints it."""
    return [each if type(each) is int else json_number(each) for each in exact]


def _entry(figure: Figure, numbers: list, value, revision: str) -> dict:
    return {
        "name": figure.name,
        "formula": figure.formula,
        "values": dict(zip(figure.put_in, numbers, strict=True)),
        "value": value,
        "unit": figure.unit,
        "source": _said(figure.source, revision),
    }


@cache
def _chosen(name: str, formula: str, *put_in: str) -> Figure:
    return Figure(name, PIECES, formula, put_in)


# The blinds of one draw, control and range of sizes state the same figures.
@lru_cache(maxsize=512)
def _holed(stated: tuple[Figure, ...], revision: str) -> str:
    """The working's JSON text with %s in place of each number."""
    entries = [_entry(each, [_HOLE] * len(each.put_in), _HOLE, revision) for each in stated]
    return json.dumps(entries).replace("%", "%%").replace(json.dumps(_HOLE), "%s")


@lru_cache(maxsize=1024)
def _said(source: str, revision: str) -> str:
    """A figure's source with the system revision behind it. Made once: the figures of a blind share a few."""
    return f"{source}; {revision}"
