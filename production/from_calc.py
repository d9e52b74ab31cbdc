"""What calc says, in the reader's language. Calc speaks English and knows no other, and so a released blind keeps it.

Its sentences are the keys to their translations, those with figures in them as patterns. A text of several is taken
apart and put together again; what is not known stays English.
"""

import re
from functools import cache

from calc import safety, supply
from calc.trace import PRACTICE

from .words import N_, _

SENTENCES = (
    N_("Here that is {length}."),
    N_(
        "The measured chain of {chain} and {over} more for the cord make a cord drop of {drop}; a loop may hang "
        "{longest}. Stop: shorten the chain by whole balls and measure it again."
    ),
    N_(
        "The measured chain is {chain}, {off} off its nominal {nominal}; its tolerance is +-{tolerance}. Count its "
        "balls and measure again; the cord follows the chain as measured."
    ),
    N_("measured_chain_mm is {chain}; it must be above 0 and at most 5000. Correct it."),
    N_(
        "The chain hangs {chain}, below the finished drop of {drop}. Shorten it, or make sure that the customer wants "
        "it so."
    ),
    N_(
        "Whole balls make the chain drop {drop} instead of {wanted} (ball pitch {pitch}), rounded down so that it "
        "hangs no lower."
    ),
    N_(
        "The loop may hang {longest} and the cord hangs {over} lower than the chain: less than one ball of chain "
        "(pitch {pitch}) is left. Only a wand will do: order operation wand."
    ),
    N_(
        "The shortest stocked wand is {wand}, longer than the finished drop of {drop}. Cut it at the bench, or tell "
        "the customer that it hangs below the blind."
    ),
    N_(
        "A bottom chain hangs in loops between the vanes, and this market says: {limit}. Whether the rule covers "
        "bottom chains could not be verified. Offer chainless weights (bottom chainless), or ask who decides locally."
    ),
    N_("{name} is {value}, but a wand blind has no chain: it is left aside."),
)
SOURCES = (
    N_("the form of a blind's specification"),
    N_("above 4000 mm the system states its own"),
    N_("rail, rod, carriers, vanes as cut and bottom weights, no more"),
    N_("the longest stocked wand not above the share of the drop, at least the shortest"),
    N_("a wand blind has no control end, no cord and no chain"),
    N_("ISO 2768-1:1989 table 1, seen in two agreeing copies"),
    N_("class {letter}"),
    N_("system {system} revision {revision}"),
    N_("values invented for the demo"),
)
# The names of the values that formulas are written in, as people say them.
NAMES = (
    N_("anchored tube one way"),
    N_("anchored tube reverse"),
    N_("anchored tube split"),
    N_("ball pitch"),
    N_("body"),
    N_("bottom hem"),
    N_("bottom weight"),
    N_("bracket inset"),
    N_("bracket span"),
    N_("bunch carriers"),
    N_("bunches"),
    N_("carrier body"),
    N_("carrier"),
    N_("carriers total"),
    N_("centre spacing"),
    N_("chain balls"),
    N_("chain drop"),
    N_("chain loop"),
    N_("clearance"),
    N_("close spacing"),
    N_("control drop"),
    N_("control share"),
    N_("cord drop"),
    N_("cord over chain"),
    N_("drop loss"),
    N_("drop"),
    N_("end cover"),
    N_("fabric"),
    N_("finished drop"),
    N_("finished width"),
    N_("gap with two held"),
    N_("held"),
    N_("inset"),
    N_("installation height"),
    N_("lead body"),
    N_("lead tube one way"),
    N_("lead tube reverse"),
    N_("least gap"),
    N_("length"),
    N_("link"),
    N_("link pitch"),
    N_("links"),
    N_("longest chain"),
    N_("longest loop"),
    N_("measured chain"),
    N_("outermost left"),
    N_("outermost"),
    N_("outermost right"),
    N_("rail cut"),
    N_("rail"),
    N_("rod"),
    N_("rod shortfall"),
    N_("runs"),
    N_("span"),
    N_("stocked wand"),
    N_("tilt rod cut"),
    N_("top hem"),
    N_("tube left"),
    N_("tube"),
    N_("tube right"),
    N_("vane cut"),
    N_("vane width"),
    N_("vanes count"),
    N_("vanes cut"),
    N_("vanes finished"),
    N_("wand share"),
    N_("wanted chain"),
    N_("width"),
    N_("allowed"),
)


def english_of_calc():
    """Every whole text that calc keeps as data and a reader may see: rules, limits, sources, reminders."""
    yield from (safety.DECIDES, PRACTICE)
    for rule in safety.RULES:
        yield from (rule.says, rule.way_out, rule.source, rule.verified)
    for says, source, verified in safety.WAND_RULES.values():
        yield from (says, source, verified)
    for limit, source in safety.LIMITS_LOOPS.values():
        yield from (limit, source)
    for one in supply.REMINDERS:
        yield from (one.says, one.source, one.verified)
    for undecided, who in supply.UNDECIDED.values():
        yield from (undecided, who)


def said(english):
    """A message or a source of calc's, in the reader's language."""
    parts, rest = [], english
    while rest:
        for english_part, shape in _shapes():
            if found := shape.match(rest):
                values = {name: said(value) for name, value in found.groupdict().items() if name != "joint"}
                parts.append(_(english_part, **values) + found["joint"])
                rest = rest[found.end() :]
                break
        else:
            return "".join(parts) + rest
    return "".join(parts)


@cache
def _shapes():
    """Each text with what it looks like when it is said, followed by more or by nothing; the longest first."""
    texts = sorted({*english_of_calc(), *SENTENCES, *SOURCES} - {""}, key=len, reverse=True)
    return [(text, re.compile(_shape(text) + r"(?P<joint>$|; |: |, | )")) for text in texts]


def _shape(text):
    parts = re.split(r"\{(\w+)\}", text)
    return "".join(f"(?P<{part}>.+?)" if place % 2 else re.escape(part) for place, part in enumerate(parts))
