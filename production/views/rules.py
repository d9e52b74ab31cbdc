"""The child-safety rules in force, as they are computed with, and example limits worked out anew for the page."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from calc import safety, supply
from calc.spec import LOOP_CONTROLS, MARKETS
from orders.languages import translated
from orders.models.choices import MARKET_NAMES
from production.from_calc import said
from production.words import N_, _
from production.workings import signs, spoken

HEIGHTS = {True: N_("height known"), False: N_("height not known"), None: N_("height known or not")}
WHEN = {"fitted": N_("fitted"), "labelled": N_("labelled"), "packed": N_("packed")}
# Finished drop and installation height of the examples; the drops stand on both sides of where the rule turns.
EXAMPLES_MM = ((2200, None), (2500, None), (2501, None), (3000, None), (2200, 2400))


@translated
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
            "decides": said(safety.DECIDES),
        },
    )


def _market(key):
    undecided, who = supply.UNDECIDED[key]
    return {
        "key": key,
        "name": _(MARKET_NAMES[key]),
        "rules": [_rule(rule) for rule in safety.RULES if rule.market == key],
        "wand": dict(zip(("says", "source", "verified"), map(said, safety.WAND_RULES[key]), strict=True)),
        "bottom_chain": [
            {name: said(found[name]) for name in ("message", "source")}
            for found in safety.bottom_chain_findings(market=key, bottom="chain")
        ],
        "reminders": [
            {"when": _(WHEN[each.when]), **{name: said(getattr(each, name)) for name in ("says", "source", "verified")}}
            for each in supply.reminders(market=key)
        ],
        "undecided": said(undecided),
        "who": said(who),
    }


def _rule(rule):
    return {
        "devices": rule.loop_controls,
        "height": _(HEIGHTS[rule.height_known]),
        "says": said(rule.says),
        "formula": formula_of(rule),
        "refused": bool(rule.refusal),
        "way_out": said(rule.way_out).replace("installation_height_mm", "the installation height"),
        "source": said(rule.source),
        "verified": said(rule.verified),
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
