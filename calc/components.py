"""One blind from its specification to every part of it: the figures, their working and what is wrong.

`components` reads and answers in plain JSON values; `outline` gives the part of it that judges many blinds at once.
Inside, every number is exact.
"""

from collections.abc import Callable, Mapping
from fractions import Fraction

from calc import safety
from calc.controls import wand_parts
from calc.findings import finding, refuses
from calc.headrail import finished_drop_mm, finished_width_mm, mass_of, rail_parts, rating_findings
from calc.job import Job
from calc.loop import loop_parts
from calc.rounding import Exact, json_number, mm
from calc.row import Row, carrier_counts, carrier_parts, row_of
from calc.spec import FORM, Spec, clearance, read_values, shown, size_findings
from calc.system import SYSTEMS, System
from calc.tolerance import tolerances
from calc.trace import Trace, Unwritten
from calc.vanes import vane_parts

_CUT = ("finished_width_mm", "finished_drop_mm", "rail_cut_mm", "tilt_rod_cut_mm", "carriers")
_ROW = (
    "spacer_tubes_mm",
    "rail_stops",
    "closed_pitch_mm",
    "overlap_mm",
    "centre_spacing_mm",
    "centre_overlap_mm",
    "gap_check_held",
    "gap_check_mm",
    "stack_mm",
)
_HUNG = (
    "bottom_chain_mm",
    "brackets",
    "vanes",
    "longest_chain_mm",
    "chain_balls",
    "chain_loop_mm",
    "chain_drop_mm",
    "cord_drop_mm",
    "cord_cut_mm",
    "tensioners",
    "warning_tags",
    "wand_mm",
    "wands",
    "mass_kg",
)
FIGURES = (*_CUT, *_ROW, *_HUNG, "tolerances_mm")
KEYS = (*FIGURES, "working", "findings")
OUTLINE = (*_CUT, *_HUNG, "findings")
"""What `outline` gives: whether a blind can be made, what it is cut from, and what an order of it adds up to."""


def components(given: Mapping, *, systems: Mapping[str, System] = SYSTEMS, working: bool = True) -> dict:
    """Every figure of the blind in `given`, its working and its findings, as plain JSON values.

    Lengths are int, float as typed or Decimal, whole or in tenths. Bad data never raises: it is refused in `findings`.
    A refused size or value leaves only the finished sizes; a refused loop leaves all but the chain and the cord.
    `carriers.left` and `.right` count the carriers of each hand, lead carriers among them. Without `working` the answer
    has no such key, and takes half the time.
    """
    if not working:
        return dict.fromkeys((*FIGURES, "findings")) | _plain(answer(given, systems, Unwritten()))
    trace = Trace()
    found = _plain(answer(given, systems, trace))
    return dict.fromkeys(KEYS) | {**found, "working": trace.working(revision=revision(given, systems))}


def outline(given: Mapping, *, systems: Mapping[str, System] = SYSTEMS) -> dict:
    """What `components` says under the keys of OUTLINE, to the last message, in a third of the time.

    For who looks at thousands of blinds at once, and at the working, the row and the tolerances of none.
    """
    return dict.fromkeys(OUTLINE) | _plain(answer(given, systems, Unwritten(), _outlined))


def answer(
    given: Mapping, systems: Mapping[str, System], trace: Trace | Unwritten, make: Callable | None = None
) -> dict:
    """The finished sizes, what `make` makes of the blind (every part where it isn't given) and the findings; exact."""
    if not isinstance(given, Mapping):
        return {"findings": [_no_object(given)]}
    values, found = read_values(given, systems=systems)
    system = systems.get(values["system"])
    width_mm = _finished(trace, finished_width_mm, values, "width_mm", system)
    drop_mm = _finished(trace, finished_drop_mm, values, "drop_mm", system)
    found += size_findings(values, system=system, width_mm=width_mm, drop_mm=drop_mm)
    made = {}
    if not refuses(found):
        made = _built(_job(values, system, trace, width_mm, drop_mm), make or _made, found)
    if not made:
        found += _market_findings(values)
    return {"finished_width_mm": width_mm, "finished_drop_mm": drop_mm, **made, "findings": found}


def revision(given: Mapping, systems: Mapping[str, System]) -> str:
    code = given.get("system") if isinstance(given, Mapping) else None
    system = systems.get(code) if type(code) is str else None
    return "no system" if system is None else system.said


def _no_object(given) -> dict:
    message = f"The blind is {shown(given)}; it must be an object with one key for each value. Correct it."
    return finding(code="wrong_type", field="", message=message, source=FORM)


def _plain(parts: dict) -> dict:
    """`parts` with each exact number as JSON prints it."""
    plain = {}
    for key, part in parts.items():
        if type(part) is dict:
            part = _plain(part)
        elif type(part) is Fraction:
            part = json_number(part)
        plain[key] = part
    return plain


def _finished(trace: Trace, rule, values: Mapping, name: str, system: System | None) -> Exact | None:
    clearance_mm = clearance(values["size_basis"], name, system=system)
    if values[name] is None or clearance_mm is None:
        return None
    return trace.add(rule, **{name: values[name]}, clearance_mm=clearance_mm)


def _job(values: Mapping, system: System, trace: Trace | Unwritten, width_mm: Exact, drop_mm: Exact) -> Job:
    parts = system.parts(vane_width_mm=values["vane_width_mm"])
    return Job(Spec(**values), system.one, parts, trace, width_mm, drop_mm, values["operation"] == "cord_chain")


def _built(job: Job, make: Callable, found: list[dict]) -> dict:
    """What `make` makes of `job`; nothing where a bunch would have fewer than two carriers. Adds to `found`."""
    row = row_of(job)
    if row.bunch_carriers < 2:
        found.append(_too_narrow(job, row))
        return {}
    return make(job, row, found)


def _made(job: Job, row: Row, found: list[dict]) -> dict:
    """Every part of `job`, exact. Adds to `found`."""
    made = rail_parts(job) | carrier_parts(job, row) | vane_parts(job, row)
    nominal_chain_mm = _add_controls(job, row, made, found)
    links = row.bunches * (row.bunch_carriers - made["gap_check_held"])
    made["tolerances_mm"] = tolerances(job, made=made, links=links, nominal_chain_mm=nominal_chain_mm)
    _add_ratings(job, made, found)
    return made


def _outlined(job: Job, row: Row, found: list[dict]) -> dict:
    """What OUTLINE names of `job`, and the findings, by the rules of `_made`."""
    made = rail_parts(job) | {"carriers": carrier_counts(job, row)} | vane_parts(job, row)
    _add_controls(job, row, made, found)
    _add_ratings(job, made, found)
    return made


def _add_controls(job: Job, row: Row, made: dict, found: list[dict]) -> Exact | None:
    """Adds cord and chain or the wand, and the mass, to `made`; answers with the nominal chain drop."""
    if job.looped:
        controls, nominal_chain_mm = loop_parts(job, found, rail_cut_mm=made["rail_cut_mm"])
    else:
        controls, nominal_chain_mm = wand_parts(job, row, found), None
    made |= controls
    made["mass_kg"] = mass_of(
        job,
        rail_cut_mm=made["rail_cut_mm"],
        tilt_rod_cut_mm=made["tilt_rod_cut_mm"],
        carriers_total=row.carriers_total,
        vane_cut_mm=made["vanes"]["cut_mm"],
    )
    return nominal_chain_mm


def _add_ratings(job: Job, made: dict, found: list[dict]) -> None:
    found += rating_findings(mass_kg=made["mass_kg"], system=job.system)
    found += safety.bottom_chain_findings(market=job.spec.market, bottom=job.spec.bottom)


def _too_narrow(job: Job, row: Row) -> dict:
    message = (
        f"The finished width is {mm(job.finished_width_mm)}, which leaves {mm(row.span_mm)} "
        f"between the outermost carriers: no room for two carriers in each bunch. Make the blind wider."
    )
    return finding(code="out_of_range", field="width_mm", message=message, source=job.system.said)


def _market_findings(values: Mapping) -> list[dict]:
    """What the market says of a blind whose sizes or values were refused, as far as it does not hang on them."""
    rule = None
    if values["operation"] == "cord_chain":
        height_known = values["installation_height_mm"] is not None
        rule = safety.loop_rule(market=values["market"], loop_control=values["loop_control"], height_known=height_known)
    found = safety.bottom_chain_findings(market=values["market"], bottom=values["bottom"])
    if rule is not None and rule.refusal:
        found.append(safety.rule_refusal(rule))
    return [*found, safety.market_note(market=values["market"], operation=values["operation"], rule=rule)]
