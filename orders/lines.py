"""An order's lines with the figures that follow from them today, for as long as nothing is frozen."""

from dataclasses import dataclass

from calc.components import components, outline
from orders.models import Order, OrderLine, SystemRevision
from orders.recess import recess_findings
from orders.spec import spec_of

LINE_FIELDS = frozenset(field.name for field in OrderLine._meta.get_fields())


@dataclass(frozen=True, kw_only=True)
class FiguredLine:
    """A line, its specification and its figures; `components` is None where its system has no published revision.

    Of a line that is one of thousands it is the outline alone.
    """

    line: OrderLine
    spec: dict
    components: dict | None

    @property
    def findings(self):
        if not self.components:
            return []
        line = self.line
        recess = recess_findings(
            size_basis=line.size_basis, vane_width_mm=line.vane_width_mm, recess_depth_mm=line.recess_depth_mm
        )
        return [*self.components["findings"], *recess]

    @property
    def refusals(self):
        return [found for found in self.findings if found["severity"] == "refuse"]

    @property
    def warnings(self):
        return [found for found in self.findings if found["severity"] == "warn"]


def slit_otherwise(fabric, vane_width_mm):
    """Why vanes of that width can't be made of `fabric`."""
    return (
        f"{fabric} is slit to {fabric.vane_width_mm} mm and the vanes are {vane_width_mm} mm. "
        "Choose another fabric or vane width."
    )


def position_in(text):
    """The position of a line that a page sent, or None where it sent none."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 9 else None


def current_revisions():
    """The newest published revision of each system, by the system's key; one query."""
    found = {}
    for revision in SystemRevision.objects.newest_published():
        found.setdefault(revision.system_id, revision)
    return found


def constants_in_force():
    """What each system with a published revision is computed with, by the system's key; one query."""
    return {key: revision.as_system() for key, revision in current_revisions().items()}


def figured(*, order: Order, lines=None):
    """Each line of `order` with its figures under its system's current revision."""
    systems = constants_in_force()
    return [
        figured_line(line=line, market=order.market, system=systems.get(line.system_id))
        for line in (order.lines.in_order() if lines is None else lines)
    ]


def figured_line(*, line: OrderLine, market, system):
    """One line with its figures under `system`, a revision's constants or None."""
    spec = spec_of(line, market=market)
    return FiguredLine(
        line=line, spec=spec, components=components(spec, systems={system.code: system}) if system else None
    )


def outlined_line(*, line: OrderLine, market, system, known):
    """What judges one line of thousands and adds it up, under `system`, a revision's constants.

    `known` are the outlines so far: lines that ask for the same blind under the same constants share one.
    """
    spec = spec_of(line, market=market)
    asked = tuple(spec.values())
    if asked not in known:
        known[asked] = outline(spec, systems={system.code: system})
    return FiguredLine(line=line, spec=spec, components=known[asked])


def line_field(finding):
    """The field of a line that a finding is about, or "" where it is about none; the fabric stands for its weight."""
    named = "fabric" if finding["field"] == "fabric_g_per_m2" else finding["field"]
    return named if named in LINE_FIELDS else ""


def totals(figured_lines):
    """What an order adds up to: `blinds`, and in metres as cut `rail_m` and `fabric_m`, None while a line has none."""
    lines = [(each.line.quantity, each.components) for each in figured_lines]
    known = all(figures and figures["rail_cut_mm"] is not None for _, figures in lines)
    return {
        "blinds": sum(quantity for quantity, _ in lines),
        "rail_m": sum(quantity * figures["rail_cut_mm"] for quantity, figures in lines) / 1000 if known else None,
        "fabric_m": sum(quantity * figures["vanes"]["fabric_m"] for quantity, figures in lines) if known else None,
    }
