"""Child safety: what each market's rule does to a loop, as data, with its source and how well it was verified.

Cords and chains strangle young children. These rules remind, compute and refuse; they certify nothing. Lengths are
millimetres; a loop's length is how far it hangs below the rail, not its way round.
"""

from collections.abc import Callable
from dataclasses import dataclass

from calc.findings import finding
from calc.rounding import Exact, mm, ratio
from calc.trace import figure

DECIDES = (
    "This tool reminds, computes and refuses; it never certifies. Local law, the standard's own text and a competent "
    "installer decide."
)
SUMMARISED = "Verified only against secondary summaries, not against the standard's own text."
EN_13120 = "EN 13120:2009+A1:2014, seen in secondary summaries"
EN_SUPPLY = (
    "The safety device is fitted in the factory and carries its own warning; a warning goes on the blind's front and "
    "on the packaging."
)
AUSTRALIA = (
    "Competition and Consumer (Corded Internal Window Coverings) Safety Standard 2014, s 6(1)(a), as the regulator's "
    "installation guide quotes it"
)
QUOTED = (
    "Verified against the regulator's quotation of s 6(1)(a); whether a later instrument has replaced it was not "
    "checked."
)
CANADA = "Corded Window Coverings Regulations, SOR/2019-97, ss 5 to 8"
READ = "Verified: the consolidated text of the regulations was read."
USA = "ANSI/WCMA A100.1-2022, seen in a press release and a retailer's summary; 16 CFR 1120.3(f)"
PRESS = (
    "Verified only against a press release and a retailer's summary, not against the standard's own text; that custom "
    "products are taken as wand only is this tool's cautious reading."
)


@figure(unit="mm", formula="installation_height_mm - 1500", name="longest_loop_mm", source=EN_13120)
def en_tensioner_known_mm(*, installation_height_mm: Exact) -> Exact:
    """A loop held by a fixed tensioner ends at least 1500 above the floor."""
    return installation_height_mm - 1500


@figure(unit="mm", formula="max(1000, finished_drop_mm - 1500)", name="longest_loop_mm", source=EN_13120)
def en_tensioner_unknown_mm(*, finished_drop_mm: Exact) -> Exact:
    """Height not known: 1000 up to a drop of 2500, above it the drop less 1500; the two meet at 2500."""
    return max(1000, finished_drop_mm - 1500)


@figure(unit="mm", formula="installation_height_mm - 600", name="longest_loop_mm", source=EN_13120)
def en_breakaway_known_mm(*, installation_height_mm: Exact) -> Exact:
    """A loop that breaks away ends at least 600 above the floor."""
    return installation_height_mm - 600


@figure(unit="mm", formula="2 * finished_drop_mm / 3", name="longest_loop_mm", source=EN_13120)
def en_breakaway_unknown_mm(*, finished_drop_mm: Exact) -> Exact:
    """Height not known: two thirds of the drop."""
    return ratio(2 * finished_drop_mm, 3)


@figure(unit="mm", formula="installation_height_mm - 1601", name="longest_loop_mm", source=AUSTRALIA)
def australia_known_mm(*, installation_height_mm: Exact) -> Exact:
    """A loose loop ends above 1600: the regulator says both 'less than' and 'at or less than', so 1600 is too low."""
    return installation_height_mm - 1601


@dataclass(frozen=True)
class Rule:
    """What one market says of a loop. `height_known` None: the rule does not ask for the installation height."""

    market: str
    loop_controls: tuple[str, ...]
    height_known: bool | None
    says: str
    source: str
    verified: str
    limit: Callable | None = None
    refusal: str | None = None
    way_out: str = ""


TENSIONER, BREAKAWAY, WEIGHT = ("tensioner",), ("breakaway",), ("weight",)
ANY = TENSIONER + BREAKAWAY + WEIGHT

RULES = (
    Rule(
        market="en13120",
        loop_controls=TENSIONER,
        height_known=True,
        says=f"EN 13120, loop with a fixed tensioner, installation height known: it ends at least 1500 mm above the "
        f"floor, so it may hang the height less 1500 mm. {EN_SUPPLY}",
        source=EN_13120,
        verified=SUMMARISED,
        limit=en_tensioner_known_mm,
    ),
    Rule(
        market="en13120",
        loop_controls=TENSIONER,
        height_known=False,
        says=f"EN 13120, loop with a fixed tensioner, installation height not known: it may hang 1000 mm at a finished "
        f"drop of up to 2500 mm, above that the finished drop less 1500 mm. {EN_SUPPLY}",
        source=EN_13120,
        verified=SUMMARISED,
        limit=en_tensioner_unknown_mm,
    ),
    Rule(
        market="en13120",
        loop_controls=BREAKAWAY,
        height_known=True,
        says=f"EN 13120, loop that breaks away, installation height known: it ends at least 600 mm above the floor, so "
        f"it may hang the height less 600 mm. {EN_SUPPLY}",
        source=EN_13120,
        verified=SUMMARISED,
        limit=en_breakaway_known_mm,
    ),
    Rule(
        market="en13120",
        loop_controls=BREAKAWAY,
        height_known=False,
        says=f"EN 13120, loop that breaks away, installation height not known: it may hang two thirds of the finished "
        f"drop. {EN_SUPPLY}",
        source=EN_13120,
        verified=SUMMARISED,
        limit=en_breakaway_unknown_mm,
    ),
    Rule(
        market="en13120",
        loop_controls=WEIGHT,
        height_known=None,
        says="EN 13120 asks for a safety device on a loop; a loop weight is none.",
        source=EN_13120,
        verified=SUMMARISED,
        refusal="device_required",
        way_out="Pick tensioner or breakaway, or operation wand.",
    ),
    Rule(
        market="australia",
        loop_controls=TENSIONER,
        height_known=None,
        says="Australia, loop with a tensioner: the cord is not loose, so no longest loop follows; the tensioner's "
        "fixing must hold 70 N for 10 s in any direction, which only the installer can make sure of.",
        source=AUSTRALIA,
        verified=QUOTED,
    ),
    Rule(
        market="australia",
        loop_controls=BREAKAWAY + WEIGHT,
        height_known=True,
        says="Australia, loose loop: it must end above 1600 mm from the floor, and exactly 1600 mm is treated as too "
        "low, so it may hang the installation height less 1601 mm.",
        source=AUSTRALIA,
        verified=QUOTED,
        limit=australia_known_mm,
    ),
    Rule(
        market="australia",
        loop_controls=BREAKAWAY + WEIGHT,
        height_known=False,
        says="Australia, loose loop: it must end above 1600 mm from the floor, so the installation height must be "
        "known.",
        source=AUSTRALIA,
        verified=QUOTED,
        refusal="height_required",
        way_out="Give installation_height_mm, floor to the top of the blind, or pick tensioner, or operation wand.",
    ),
    Rule(
        market="canada",
        loop_controls=ANY,
        height_known=None,
        says="Canada: no reachable cord over 220 mm and no loop over 440 mm around, whatever its device, so no "
        "cord and chain: wand only.",
        source=CANADA,
        verified=READ,
        refusal="loop_not_allowed",
        way_out="Order operation wand.",
    ),
    Rule(
        market="usa",
        loop_controls=ANY,
        height_known=None,
        says="USA, custom product: the newest edition of the national consensus standard is taken as wand only.",
        source=USA,
        verified=PRESS,
        refusal="loop_not_allowed",
        way_out="Order operation wand.",
    ),
)

WAND_RULES = {
    "en13120": ("EN 13120, wand: no loop hangs, so no longest loop is computed.", EN_13120, SUMMARISED),
    "australia": ("Australia, wand: no loop hangs, so no longest loop is computed.", AUSTRALIA, QUOTED),
    "canada": ("Canada, wand: no cord or chain loop hangs from the rail; wand is the only way.", CANADA, READ),
    "usa": ("USA, wand: no cord or chain loop hangs from the rail; wand is the only way.", USA, PRESS),
}

# Markets that limit any loop, so that a bottom chain's loops between vanes fall under the limit's words too.
LIMITS_LOOPS = {
    "australia": ("no loop of 220 mm or more at or below 1600 mm", AUSTRALIA),
    "canada": ("no loop over 440 mm around", CANADA),
}


def _by_case() -> dict[tuple[str, str, bool], Rule]:
    cases = {}
    for rule in RULES:
        for loop_control in rule.loop_controls:
            for known in (True, False) if rule.height_known is None else (rule.height_known,):
                cases[rule.market, loop_control, known] = rule
    return cases


_CASES = _by_case()


def loop_rule(*, market: str | None, loop_control: str | None, height_known: bool) -> Rule | None:
    """The rule for a loop; None where the market or the loop control is not known."""
    return _CASES.get((market, loop_control, height_known))


def longest_loop_mm(
    *, market: str, loop_control: str, finished_drop_mm: Exact, installation_height_mm: Exact | None = None
) -> Exact | None:
    """Longest that a loop may hang below the rail; None where the market refuses it or no limit follows.

    Raises KeyError for a market or a loop control that is not listed.
    """
    rule = _CASES[market, loop_control, installation_height_mm is not None]
    return None if rule.limit is None else rule.limit(**put_in(rule, finished_drop_mm, installation_height_mm))


def put_in(rule: Rule, finished_drop_mm: Exact, installation_height_mm: Exact | None) -> dict:
    """The one value that `rule.limit` asks for, under its name."""
    if rule.height_known:
        return {"installation_height_mm": installation_height_mm}
    return {"finished_drop_mm": finished_drop_mm}


def rule_refusal(rule: Rule) -> dict:
    """The finding of a rule that refuses the loop outright."""
    fields = {"device_required": "loop_control", "height_required": "installation_height_mm"}
    return finding(
        code=rule.refusal,
        field=fields.get(rule.refusal, "operation"),
        message=f"{rule.says} {rule.way_out}",
        source=rule.source,
    )


def market_note(
    *, market: str | None, operation: str | None, rule: Rule | None, longest_mm: Exact | None = None
) -> dict:
    """What rule was applied, how well it is verified and who must decide; said of every blind."""
    says, source, verified = "No market's rule could be applied: the specification does not tell which.", "", ""
    if operation == "wand" and market in WAND_RULES:
        says, source, verified = WAND_RULES[market]
    elif rule is not None:
        says, source, verified = rule.says, rule.source, rule.verified
    if longest_mm is not None:
        says = f"{says} Here that is {mm(longest_mm)}."
    message = " ".join(part for part in (says, verified, DECIDES) if part)
    return finding(code="market_rule", field="market", message=message, source=source or "none")


def bottom_chain_findings(*, market: str | None, bottom: str | None) -> list[dict]:
    """A warning where the bottom chain's loops between vanes may fall under a market's limit."""
    if bottom != "chain" or market not in LIMITS_LOOPS:
        return []
    limit, source = LIMITS_LOOPS[market]
    message = (
        f"A bottom chain hangs in loops between the vanes, and this market says: {limit}. Whether the rule covers "
        f"bottom chains could not be verified. Offer chainless weights (bottom chainless), or ask who decides locally."
    )
    return [finding(code="bottom_chain_loop", field="bottom", message=message, source=source)]
