"""A blind's figures as the office reads them: in groups, each with its working, and what a line still lacks."""

from copy import copy
from decimal import Decimal

from calc.headrail import finished_drop_mm, finished_width_mm
from calc.rounding import json_number
from orders.lines import current_revisions, figured_line, line_field
from production.words import N_, _
from production.workings import figure, value_of

GROUPS = (
    (
        N_("Carriers and vanes"),
        (
            ("carriers.total", N_("Carriers")),
            ("carriers.left", N_("Left carriers")),
            ("carriers.right", N_("Right carriers")),
            ("carriers.lead", N_("Lead carriers")),
            ("bunch_carriers", N_("Carriers of one bunch")),
            ("closed_pitch_mm", N_("Closed pitch")),
            ("overlap_mm", N_("Overlap")),
            ("centre_spacing_mm", N_("Middle pair")),
            ("centre_overlap_mm", N_("Overlap in the middle")),
            ("vanes.count", N_("Vanes")),
            ("vanes.finished_mm", N_("Vane, finished")),
            ("vanes.cut_mm", N_("Vane, cut")),
            ("vanes.fabric_m", N_("Fabric")),
            ("bottom_chain_mm", N_("Bottom chain")),
        ),
    ),
    (
        N_("Stack"),
        (("stack_mm.left", N_("Stack, left")), ("stack_mm.right", N_("Stack, right"))),
    ),
    (
        N_("Controls"),
        (
            ("longest_loop_mm", N_("Longest loop allowed")),
            ("longest_chain_mm", N_("Longest chain allowed")),
            ("wanted_chain_mm", N_("Chain drop wanted")),
            ("chain_drop_mm", N_("Chain drop")),
            ("chain_balls", N_("Chain, balls")),
            ("chain_loop_mm", N_("Chain loop, all round")),
            ("cord_drop_mm", N_("Cord drop")),
            ("cord_cut_mm", N_("Cord, cut")),
            ("tensioners", N_("Tensioners")),
            ("warning_tags", N_("Warning tags")),
            ("wand_mm", N_("Wand")),
            ("wands", N_("Wands")),
        ),
    ),
    (
        N_("Headrail"),
        (
            ("finished_width_mm", N_("Finished width")),
            ("finished_drop_mm", N_("Finished drop")),
            ("rail_cut_mm", N_("Rail, cut")),
            ("tilt_rod_cut_mm", N_("Tilt rod, cut")),
            ("spacer_tubes_mm.left", N_("Spacer tube, left")),
            ("spacer_tubes_mm.right", N_("Spacer tube, right")),
            ("outermost_mm.left", N_("Outermost carrier, left")),
            ("outermost_mm.right", N_("Outermost carrier, right")),
            ("span_mm", N_("Span")),
            ("rail_stops", N_("Rail stops")),
            ("brackets", N_("Brackets")),
            ("gap_check_held", N_("Gap check, held back")),
            ("close_spacing_mm", N_("Gap check, held pair")),
            ("gap_check_mm", N_("Gap check")),
            ("mass_kg", N_("Mass on the rail")),
        ),
    ),
    (
        N_("Tolerances"),
        (
            ("tolerances_mm.rail_cut_mm", N_("Rail, ±")),
            ("tolerances_mm.tilt_rod_cut_mm", N_("Tilt rod, ±")),
            ("tolerances_mm.spacer_tubes_mm.left", N_("Spacer tube, left, ±")),
            ("tolerances_mm.spacer_tubes_mm.right", N_("Spacer tube, right, ±")),
            ("tolerances_mm.vane_cut_mm", N_("Vane, ±")),
            ("tolerances_mm.chain_drop_mm", N_("Chain drop, ±")),
            ("tolerances_mm.cord_cut_mm", N_("Cord, ±")),
            ("tolerances_mm.gap_check_mm.worst_case", N_("Gap check, worst case, ±")),
            ("tolerances_mm.gap_check_mm.root_sum_square", N_("Gap check, likely (root-sum-square), ±")),
        ),
    ),
)
LABELS = {key: label for _, named in GROUPS for key, label in named}
# What every line must say before its figures can be worked out, in words that follow 'Still needed:'.
NEEDED = (
    ("size_basis", "recess or exact"),
    ("width_mm", "width"),
    ("drop_mm", "drop"),
    ("vane_width_mm", "vane width"),
    ("fabric", "fabric"),
    ("draw", "draw"),
    ("hand", "hand"),
    ("operation", "cord and chain, or wand"),
    ("loop_control", "loop control"),
    ("chain", "plastic or metal chain"),
    ("system", "hardware system"),
)
LOOP_ONLY = ("loop_control", "chain")
# The fields that figures follow from; what is wrong with any other is no matter until the line is saved.
FIGURED = {field for field, _ in NEEDED} | {
    "control_drop_mm",
    "installation_height_mm",
    "recess_depth_mm",
    "fixing",
    "bottom",
}


def grouped(components, *, system=None):
    """The figures that this blind has, in groups; an end without a bunch and a blind without a wand have none."""
    groups = []
    for title, named in GROUPS:
        figures = [figure(key, label, components, system=system) for key, label in named if value_of(components, key)]
        if figures:
            groups.append({"title": _(title), "figures": figures})
    return groups


def named_values(components):
    """(key, label, value) of each figure that `grouped` has, without how it is worked out."""
    return [
        (key, _(label), value)
        for _title, named in GROUPS
        for key, label in named
        if (value := value_of(components, key))
    ]


def beside(*, form, market):
    """All that can be shown beside a line's form, whatever is typed in it so far."""
    line, entry_problems = typed(form)
    revision = current_revisions().get(line.system_id)
    system = revision.as_system() if revision else None
    figured = figured_line(line=line, market=market, system=system)
    missing = missing_of(line)
    quiet = {field for field, _ in missing} | {field for field, _ in entry_problems}
    findings = [found for found in figured.findings if line_field(found) not in quiet]
    whole = bool(figured.components) and figured.components["rail_cut_mm"] is not None
    return {
        "line": line,
        "spec": figured.spec,
        "components": figured.components if whole else None,
        "groups": grouped(figured.components, system=system) if whole else [],
        "sizes": sizes(line, system) if system else [],
        "missing": [words for field, words in missing if field not in dict(entry_problems)],
        "entry_problems": entry_problems,
        "readings": form.readings(),
        "no_revision": line.system_id and revision is None,
        **by_severity(findings),
    }


def typed(form):
    """The line as far as it can be read, and (field, message) of what can't be; a field not filled in is neither."""
    # Looking for errors is what reads the fields into the instance.
    found = form.errors.get_json_data()
    line, problems = copy(form.instance), []
    for name, errors in found.items():
        if name not in FIGURED:
            continue
        setattr(line, name, None)
        if form[name].value():
            problems += [(name, error["message"]) for error in errors]
    return line, problems


def missing_of(line):
    """The (field, words) that `line` must still say."""
    looped = line.operation == "cord_chain"
    filled = {"fabric": line.fabric_id, "system": line.system_id}
    return [
        (field, words)
        for field, words in NEEDED
        if (looped or field not in LOOP_ONLY) and not filled.get(field, getattr(line, field, None))
    ]


def sizes(line, system):
    """What the size means under each basis, as measured opening and finished blind; an end not typed yet is None."""
    if line.width_mm is None and line.drop_mm is None:
        return []
    less = less_clearance(line.width_mm, line.drop_mm, system=system)
    more = less_clearance(line.width_mm, line.drop_mm, system=system, sign=-1)
    given = (line.width_mm, line.drop_mm)
    return [
        {"basis": "recess", "opening": given, "finished": less, "chosen": line.size_basis == "recess"},
        {"basis": "exact", "opening": more, "finished": given, "chosen": line.size_basis == "exact"},
    ]


def less_clearance(width_mm, drop_mm, *, system, sign=1):
    """Width and drop with the recess clearance taken off, or with `sign` -1 put on, as decimals that a page shows."""
    off_width = Decimal(str(json_number(system.recess_width_clearance_mm))) * sign
    off_drop = Decimal(str(json_number(system.recess_drop_clearance_mm))) * sign
    return (
        None if width_mm is None else finished_width_mm(width_mm=width_mm, clearance_mm=off_width),
        None if drop_mm is None else finished_drop_mm(drop_mm=drop_mm, clearance_mm=off_drop),
    )


def by_severity(findings):
    """Refusals, warnings and notes apart, and the market's rule by itself, since it is said of every blind."""
    rule = next((found for found in findings if found["code"] == "market_rule"), None)
    return {
        "refusals": [found for found in findings if found["severity"] == "refuse"],
        "warnings": [found for found in findings if found["severity"] == "warn"],
        "notes": [found for found in findings if found["severity"] == "note" and found is not rule],
        "rule": rule,
    }
