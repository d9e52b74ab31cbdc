"""The loops of a cord and chain blind put together: the market's limit, the chain, the cord that follows, refusals."""

from functools import cache

from calc import controls, safety
from calc.findings import finding
from calc.job import Job
from calc.rounding import Exact, mm
from calc.tolerance import cut_tolerance_mm
from calc.trace import PRACTICE, Trace

WARNING_TAGS = 2


def loop_parts(job: Job, found: list[dict], *, rail_cut_mm: Exact) -> tuple[dict, Exact | None]:
    """Chain, cord and safety parts of `job`, and the nominal chain drop; adds to `found`.

    A refused loop has neither chain nor cord; the longest chain stays where the market's rule gives one.
    """
    spec = job.spec
    height_known = spec.installation_height_mm is not None
    rule = safety.loop_rule(market=spec.market, loop_control=spec.loop_control, height_known=height_known)
    longest_loop_mm, longest_chain_mm = _longest(job, rule)
    fittings, working = _fittings(spec.loop_control)
    job.trace.take(working)
    made = fittings | {"longest_chain_mm": longest_chain_mm}
    refusals = _refusals(job, rule, longest_loop_mm, longest_chain_mm)
    wanted_mm = None if refusals else _wanted(job, longest_chain_mm)
    if wanted_mm is not None and 2 * wanted_mm < job.system.ball_pitch_mm:
        refusals = [_no_ball_asked(job, wanted_mm)]
    nominal_mm = None
    if refusals:
        found += refusals
        made |= dict.fromkeys(controls.LOOP_KEYS)
    else:
        chain, nominal_mm = _chain(job, wanted_mm)
        made |= chain | _cord(job, chain["chain_drop_mm"], rail_cut_mm)
        found += _chain_findings(job, chain["chain_drop_mm"], nominal_mm, wanted_mm)
    found.append(
        safety.market_note(market=spec.market, operation=spec.operation, rule=rule, longest_mm=longest_loop_mm)
    )
    return made, nominal_mm


@cache
def _fittings(loop_control: str) -> tuple[dict, Trace]:
    """What no size changes, and its working."""
    trace = Trace()
    made = {
        "tensioners": trace.count("tensioners", 1 if loop_control == "tensioner" else 0),
        "warning_tags": trace.count("warning_tags", WARNING_TAGS),
        "wand_mm": None,
        "wands": trace.count("wands", 0),
    }
    return made, trace


def cord_over_chain_mm(job: Job) -> Exact:
    """How much lower the cord hangs than the chain, for the blind's loop control."""
    return getattr(job.system, f"cord_over_chain_{job.spec.loop_control}_mm")


def _longest(job: Job, rule: safety.Rule) -> tuple[Exact | None, Exact | None]:
    if rule.limit is None:
        return None, None
    values = safety.put_in(rule, job.finished_drop_mm, job.spec.installation_height_mm)
    longest_loop_mm = job.trace.add(rule.limit, **values)
    return longest_loop_mm, job.trace.add(
        controls.longest_chain_mm, longest_loop_mm=longest_loop_mm, cord_over_chain_mm=cord_over_chain_mm(job)
    )


def _refusals(job: Job, rule: safety.Rule, loop_mm: Exact | None, chain_mm: Exact | None) -> list[dict]:
    if rule.refusal:
        return [safety.rule_refusal(rule)]
    if loop_mm is None:
        return []
    if 2 * chain_mm < job.system.ball_pitch_mm:
        return [_no_chain_left(job, rule, loop_mm)]  # no chain, asked for or measured, could be short enough
    spec, refusals = job.spec, []
    if spec.control_drop_mm is not None and spec.control_drop_mm > chain_mm:
        refusals.append(_asked_too_long(job, rule, chain_mm))
    if spec.measured_chain_mm is not None and spec.measured_chain_mm + cord_over_chain_mm(job) > loop_mm:
        refusals.append(_cord_too_long(job, rule, loop_mm))
    return refusals


def _no_chain_left(job: Job, rule: safety.Rule, loop_mm: Exact) -> dict:
    message = (
        f"The loop may hang {mm(loop_mm)} and the cord hangs {mm(cord_over_chain_mm(job))} lower "
        f"than the chain: less than one ball of chain (pitch {mm(job.system.ball_pitch_mm)}) is left. "
        f"Only a wand will do: order operation wand."
    )
    return finding(code="loop_not_allowed", field="operation", message=message, source=rule.source)


def _no_ball_asked(job: Job, wanted_mm: Exact) -> dict:
    message = (
        f"A chain drop of {mm(wanted_mm)} has less than one ball (pitch "
        f"{mm(job.system.ball_pitch_mm)}). Ask for a longer drop, or order operation wand."
    )
    return finding(code="loop_not_allowed", field="control_drop_mm", message=message, source=PRACTICE)


def _asked_too_long(job: Job, rule: safety.Rule, chain_mm: Exact) -> dict:
    message = (
        f"A chain drop of {mm(job.spec.control_drop_mm)} was asked for; the longest chain is "
        f"{mm(chain_mm)}. Ask for no more than that, or give a higher installation height if it is known."
    )
    return finding(code="control_drop_too_long", field="control_drop_mm", message=message, source=rule.source)


def _cord_too_long(job: Job, rule: safety.Rule, loop_mm: Exact) -> dict:
    measured_mm, over_mm = job.spec.measured_chain_mm, cord_over_chain_mm(job)
    message = (
        f"The measured chain of {mm(measured_mm)} and {mm(over_mm)} more for the cord make a "
        f"cord drop of {mm(measured_mm + over_mm)}; a loop may hang {mm(loop_mm)}. Stop: shorten "
        f"the chain by whole balls and measure it again."
    )
    return finding(code="cord_too_long", field="measured_chain_mm", message=message, source=rule.source)


def _wanted(job: Job, longest_chain_mm: Exact | None) -> Exact:
    add = job.trace.add
    if job.spec.control_drop_mm is not None:
        return add(controls.wanted_chain_asked_mm, control_drop_mm=job.spec.control_drop_mm)
    share = {"control_share": job.system.control_share, "finished_drop_mm": job.finished_drop_mm}
    if longest_chain_mm is None:
        return add(controls.wanted_chain_mm, **share)
    return add(controls.wanted_chain_limited_mm, **share, longest_chain_mm=longest_chain_mm)


def _chain(job: Job, wanted_mm: Exact) -> tuple[dict, Exact]:
    add, pitch_mm, measured_mm = job.trace.add, job.system.ball_pitch_mm, job.spec.measured_chain_mm
    balls = add(controls.chain_balls, wanted_chain_mm=wanted_mm, ball_pitch_mm=pitch_mm)
    loop_mm = add(controls.chain_loop_mm, chain_balls=balls, ball_pitch_mm=pitch_mm)
    nominal_mm = controls.chain_drop_mm(chain_loop_mm=loop_mm)
    if measured_mm is None:
        drop_mm = add(controls.chain_drop_mm, chain_loop_mm=loop_mm)
    else:
        drop_mm = add(controls.chain_drop_measured_mm, measured_chain_mm=measured_mm)
    return {"chain_balls": balls, "chain_loop_mm": loop_mm, "chain_drop_mm": drop_mm}, nominal_mm


def _cord(job: Job, chain_drop_mm: Exact, rail_cut_mm: Exact) -> dict:
    add = job.trace.add
    drop_mm = add(controls.cord_drop_mm, chain_drop_mm=chain_drop_mm, cord_over_chain_mm=cord_over_chain_mm(job))
    cut_mm = add(controls.cord_cut_mm, rail_cut_mm=rail_cut_mm, cord_drop_mm=drop_mm)
    return {"cord_drop_mm": drop_mm, "cord_cut_mm": cut_mm}


def _chain_findings(job: Job, drop_mm: Exact, nominal_mm: Exact, wanted_mm: Exact) -> list[dict]:
    found = []
    measured_mm, blind_mm = job.spec.measured_chain_mm, job.finished_drop_mm
    if measured_mm is not None:
        found += _off_nominal(job, measured_mm, nominal_mm)
    if drop_mm > blind_mm:
        message = (
            f"The chain hangs {mm(drop_mm)}, below the finished drop of {mm(blind_mm)}. Shorten "
            f"it, or make sure that the customer wants it so."
        )
        field = "control_drop_mm" if measured_mm is None else "measured_chain_mm"
        found.append(finding(code="chain_below_blind", field=field, message=message, source=PRACTICE))
    if nominal_mm < wanted_mm:
        message = (
            f"Whole balls make the chain drop {mm(nominal_mm)} instead of {mm(wanted_mm)} "
            f"(ball pitch {mm(job.system.ball_pitch_mm)}), rounded down so that it hangs no lower."
        )
        found.append(finding(code="chain_rounded", field="control_drop_mm", message=message, source=PRACTICE))
    return found


def _off_nominal(job: Job, measured_mm: Exact, nominal_mm: Exact) -> list[dict]:
    allowed_mm = cut_tolerance_mm(length_mm=nominal_mm, tolerance_class=job.system.chain_class, system=job.system)
    if allowed_mm is None or abs(measured_mm - nominal_mm) <= allowed_mm:
        return []
    message = (
        f"The measured chain is {mm(measured_mm)}, {mm(abs(measured_mm - nominal_mm))} off its "
        f"nominal {mm(nominal_mm)}; its tolerance is +-{mm(allowed_mm)}. Count its balls and "
        f"measure again; the cord follows the chain as measured."
    )
    return [finding(code="chain_off_nominal", field="measured_chain_mm", message=message, source=PRACTICE)]
