"""The market's child-safety rule in force for one blind, in the reader's language."""

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
