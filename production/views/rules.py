"""The child-safety rules in force, as they are computed with, and example limits worked out anew for the page."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from calc import safety, supply
from calc.spec import LOOP_CONTROLS, MARKETS
from orders.models.orders import MARKET_NAMES
from production.workings import signs, spoken

HEIGHTS = {True: "height known", False: "height not known", None: "height known or not"}
# Finished drop and installation height of the examples; the drops stand on both sides of where the rule turns.
EXAMPLES_MM = ((2200, None), (2500, None), (2501, None), (3000, None), (2200, 2400))


@require_safe
def rules(request):
    """For everybody who is signed in: whoever sells, makes, checks or answers for a blind may look the rules up."""
    return render(
        request,
        "rules.html",
        {
            "markets": [_market(key) for key in MARKETS],
            "examples": examples(),
            "columns": example_columns(),
            "decides": safety.DECIDES,
        },
    )


def _market(key):
    undecided, who = supply.UNDECIDED[key]
    return {
        "key": key,
        "name": MARKET_NAMES[key],
        "rules": [_rule(rule) for rule in safety.RULES if rule.market == key],
        "wand": dict(zip(("says", "source", "verified"), safety.WAND_RULES[key], strict=True)),
        "bottom_chain": safety.bottom_chain_findings(market=key, bottom="chain"),
        "reminders": supply.reminders(market=key),
        "undecided": undecided,
        "who": who,
    }


def _rule(rule):
    return {
        "devices": rule.loop_controls,
        "height": HEIGHTS[rule.height_known],
        "says": rule.says,
        "formula": formula_of(rule),
        "refused": bool(rule.refusal),
        "way_out": rule.way_out.replace("installation_height_mm", "the installation height"),
        "source": rule.source,
        "verified": rule.verified,
    }


def formula_of(rule):
    """The longest loop in words, such as 'installation height − 1500'; "" where no length follows."""
    if rule.limit is None:
        return ""
    words = rule.limit.figure.formula
    for name in ("installation_height_mm", "finished_drop_mm"):
        words = words.replace(name, spoken(name))
    return signs(words)


def examples():
    """The longest loop of each market and device at a few sizes, and where it ends above the floor if that is known."""
    found = []
    for drop_mm, height_mm in EXAMPLES_MM:
        cells = [_example(market, device, drop_mm, height_mm) for market, device in example_columns()]
        found.append({"drop_mm": drop_mm, "height_mm": height_mm, "cells": cells})
    return found


def example_columns():
    """Each market and device for which a loop is allowed with a length that follows."""
    limited = {(rule.market, device) for rule in safety.RULES if rule.limit for device in rule.loop_controls}
    return [(market, device) for market in MARKETS for device in LOOP_CONTROLS if (market, device) in limited]


def _example(market, device, drop_mm, height_mm):
    rule = safety.loop_rule(market=market, loop_control=device, height_known=height_mm is not None)
    longest_mm = safety.longest_loop_mm(
        market=market, loop_control=device, finished_drop_mm=drop_mm, installation_height_mm=height_mm
    )
    return {"longest_mm": None if longest_mm is None else float(longest_mm), "refused": bool(rule.refusal)}
