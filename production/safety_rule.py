"""The market's child-safety rule in force for one blind, in the reader's language, and those for a whole order."""

from calc import safety
from production import steps
from production.from_calc import said


def rule_of(spec):
    """What the rule `says`, its `source` and how well it was `verified`; for a specification that can be made."""
    market = spec["market"]
    if not steps.looped(spec):
        says, source, verified = safety.WAND_RULES[market]
    else:
        height_known = spec["installation_height_mm"] is not None
        rule = safety.loop_rule(market=market, loop_control=spec["loop_control"], height_known=height_known)
        says, source, verified = rule.says, rule.source, rule.verified
    return {"says": said(says), "source": said(source), "verified": said(verified)}


def safety_of(lines):
    """Each child-safety rule in force with its source, and the lines that it is for."""
    found = {}
    for line in lines:
        for rule in (rule_of(line.spec), bottom_chain_rule(line.spec)):
            if rule:
                found.setdefault((rule["says"], rule["source"], rule["verified"]), []).append(line.position)
    return [
        {"says": says, "source": source, "verified": verified, "lines": line_spans(positions)}
        for (says, source, verified), positions in found.items()
    ]


def bottom_chain_rule(spec):
    """What a market that limits loops leaves open about the loops of a bottom chain, or None."""
    if spec["bottom"] != "chain" or spec["market"] not in safety.LIMITS_LOOPS:
        return None
    limit, source = safety.LIMITS_LOOPS[spec["market"]]
    return {
        "says": f"The chain at the foot of the vanes hangs in loops between them, and this market says: {limit}. "
        "Without a chain at the bottom there is no such loop.",
        "source": source,
        "verified": "Whether the rule covers bottom chains could not be verified.",
    }


def line_spans(positions):
    runs = []
    for position in sorted(set(positions)):
        if runs and position == runs[-1][-1] + 1:
            runs[-1].append(position)
        else:
            runs.append([position])
    words = ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
    return f"line {words}" if words.isdecimal() else f"lines {words}"
