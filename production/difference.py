"""What a draft revision would change: open orders' lines worked out twice, and the blinds that nothing changes."""

from collections import Counter

from calc.components import components
from orders.models import OrderLine, SystemRevision
from orders.spec import spec_of
from production.figures import GROUPS
from production.models import Blind

LABELS = {key: label for _, figures in GROUPS for key, label in figures}
# Said as sentences or by themselves, not figure by figure.
NO_FIGURES = ("working", "findings")
UNIT_ENDINGS = (("_mm", "mm"), ("_kg", "kg"), ("_m", "m"))


def report(*, revision: SystemRevision):
    """Every line that would come out otherwise under the draft `revision`, by order, refusals that appear first.

    `lines` counts the open lines of the system, `changed` those that differ, and `tally` in how many of these each
    figure differs; `released` says how many blinds were released with which revision. Four queries, whatever the
    number of lines.
    """
    in_force = SystemRevision.objects.current(system=revision.system)
    old, new = (in_force.as_system() if in_force else None), revision.as_system()
    lines = list(OrderLine.objects.changeable().with_system(revision.system).by_order())
    differing = [found for found in (line_difference(line, old=old, new=new) for line in lines) if found]
    return {
        "revision": revision,
        "in_force": in_force,
        "lines": len(lines),
        "changed": len(differing),
        "refused": sum(bool(each["appearing"]) for each in differing),
        "tally": Counter(figure["label"] for each in differing for figure in each["figures"]).most_common(),
        "orders": by_order(differing),
        "released": list(Blind.objects.counted_by_revision(revision.system)),
    }


def by_order(differing):
    """The differing lines under their orders; those with a line that would be refused come first."""
    orders = {}
    for each in differing:
        order = each["line"].order
        found = orders.setdefault(order.pk, {"order": order, "lines": [], "refused": 0, "gone": 0})
        found["lines"].append(each)
        found["refused"] += bool(each["appearing"])
        found["gone"] += bool(each["gone"])
    for found in orders.values():
        found["lines"].sort(key=lambda each: (not each["appearing"], not each["gone"], each["line"].position))
    return sorted(orders.values(), key=lambda found: (not found["refused"], not found["gone"], found["order"].number))


def line_difference(line, *, old, new):
    """How `line` comes out otherwise under `new` than under `old`, which may be None; None where it does not."""
    spec = spec_of(line, market=line.order.market)
    before = components(spec, systems={line.system.code: old}) if old else None
    after = components(spec, systems={line.system.code: new})
    appearing, gone = _refusals(after, before), _refusals(before, after) if before else []
    figures = figures_between(before, after)
    if not (appearing or gone or figures or before is None):
        return None
    return {"line": line, "appearing": appearing, "gone": gone, "figures": figures, "is_new": before is None}


def _refusals(components, others):
    """The refusals of `components` that `others` doesn't have, in words."""
    known = {(found["code"], found["field"]) for found in _refused(others)}
    return [found["message"] for found in _refused(components) if (found["code"], found["field"]) not in known]


def _refused(components):
    return [found for found in components["findings"] if found["severity"] == "refuse"] if components else []


def figures_between(before, after):
    """Each figure that differs between two answers: its label, unit, old value and new one; None for none.

    A line that one of the two refuses altogether has no figures to hold against the other's.
    """
    if before is None or before["rail_cut_mm"] is None or after["rail_cut_mm"] is None:
        return []
    old, new = dict(_flat(before)), dict(_flat(after))
    return [
        {"label": _label(path), "unit": _unit(path), "old": old[path], "new": new[path]}
        for path in new
        if old[path] != new[path]
    ]


def _flat(part, path=""):
    for key, value in part.items():
        if path or key not in NO_FIGURES:
            here = f"{path}.{key}" if path else key
            if isinstance(value, dict):
                yield from _flat(value, here)
            else:
                yield here, value


def _label(path):
    if path in LABELS:
        return LABELS[path]
    words = path.replace("tolerances_mm.", "tolerance of ").replace("_mm", "").replace("_", " ").replace(".", ", ")
    return words[:1].upper() + words[1:]


def _unit(path):
    return next((unit for ending, unit in UNIT_ENDINGS for part in path.split(".") if part.endswith(ending)), "")
