"""The lines of a posted order: what each says, made of what the catalogue offers, and what is wrong with it."""

from orders.lines import current_revisions, figured_line, line_field
from orders.models import Fabric, OrderLine
from production import route

from . import reading
from .problems import error
from .words import LINES_AT_MOST, Line, repeated


def readable_lines(given):
    """The place and Line of each posted line with which nothing is wrong by itself."""
    lines = given.get("lines") if isinstance(given, dict) else None
    found = [reading.checked(Line, line)[0] for line in lines[:LINES_AT_MOST]] if isinstance(lines, list) else []
    return [(place, line) for place, line in enumerate(found) if line]


def refusals(place, figured):
    line = figured.line
    found = []
    if line.fabric.vane_width_mm != line.vane_width_mm:
        detail = (
            f"{line.fabric} is slit to {line.fabric.vane_width_mm} mm and the vanes are {line.vane_width_mm} mm. "
            "Choose another fabric or vane width."
        )
        found.append(_wrong(place, "fabric", line.fabric.code, "other_vane_width", detail))
    for each in figured.refusals:
        field = line_field(each)
        found.append(_wrong(place, field, figured.spec.get(each["field"]), each["code"], each["message"]))
    return found


def warned(place, found):
    return {
        "line": place,
        "field": line_field(found),
        "code": found["code"],
        "detail": found["message"],
        "source": found["source"],
    }


class Shelf:
    """What the catalogue offers now, read once for all lines."""

    def __init__(self):
        self.systems = {revision.system.code: revision for revision in current_revisions().values()}
        self.fabrics = {fabric.code: fabric for fabric in Fabric.objects.offered()}

    def lines_of(self, asked):
        """(place, OrderLine not saved yet) of each (place, Line) whose system and fabric are there, and what is wrong
        with the others."""
        made, wrong = [], []
        for place, line in asked:
            found = [*self._missing(place, "system", line.system, self.systems)]
            found += self._missing(place, "fabric", line.fabric, self.fabrics)
            found += _device_errors(place, line)
            if found:
                wrong += found
            else:
                made.append((place, self._line(line)))
        return made, wrong

    def figured(self, lines, *, market):
        """(place, FiguredLine) of each (place, OrderLine) in `market`."""
        systems = {revision.system_id: revision.as_system() for revision in self.systems.values()}
        return [
            (place, figured_line(line=line, market=market, system=systems[line.system_id])) for place, line in lines
        ]

    def _missing(self, place, field, code, known):
        if code not in known:
            choices = ", ".join(sorted(known)[:12]) or "none yet"
            detail = f"{field} is {repeated(code)!r}, which the catalogue doesn't offer. It offers {choices}. Pick one."
            yield _wrong(place, field, code, "not_in_catalogue", detail)

    def _line(self, asked):
        given = asked.model_dump(exclude={"system", "fabric", "loop_control", "chain", "control_drop_mm", "concerns"})
        looped = asked.operation == "cord_chain"
        return OrderLine(
            **given,
            system=self.systems[asked.system].system,
            fabric=self.fabrics[asked.fabric],
            loop_control=asked.loop_control if looped else "",
            chain=asked.chain if looped else "",
            control_drop_mm=asked.control_drop_mm if looped else None,
            concerns=_concerned(asked) if asked.special_instruction else [],
        )


def _concerned(asked):
    """The stations that must acknowledge the special instruction, in the order of work; all where none is named."""
    return [key for key in route.STATION if key in asked.concerns] or list(route.STATION)


def _device_errors(place, line):
    """A looped blind names its device and its chain; a wand blind has neither."""
    names = ("loop_control", "chain")
    if line.operation == "cord_chain":
        return [
            _wrong(place, name, None, "missing", f"{name} is missing: a blind with cord and chain names it. Give it.")
            for name in names
            if getattr(line, name) is None
        ]
    return [
        _wrong(place, name, value, "not_with_wand", f"{name} is given, and a wand blind has none. Leave it out.")
        for name in (*names, "control_drop_mm")
        if (value := getattr(line, name)) is not None
    ]


def _wrong(place, field, value, code, detail):
    pointer = f"#/lines/{place}/{field}" if field else f"#/lines/{place}"
    return error(detail=detail, pointer=pointer, line=place, field=field, value=repeated(value), code=code)
