"""What stands on the papers that a customer is given, in whole English sentences; how they are printed is `labels`.

Common practice, no source, but for the child-safety rules, which carry theirs.
"""

import hashlib
import json
from dataclasses import dataclass
from functools import cached_property

from django.conf import settings
from django.utils import translation
from django.utils.formats import date_format

from calc.safety import DECIDES, LIMITS_LOOPS
from calc.supply import UNDECIDED
from orders.customer_papers import COLLECTION, CONFIRMATION, DELIVERY, KIND, MEASUREMENTS
from orders.lines import figured
from orders.models import Order
from orders.models.orders import MARKET_NAMES
from production import paper
from production.drawing.from_room import from_room
from production.drawing.pen import figure_text
from production.models import Blind
from production.safety_rule import rule_of
from production.steps import looped

ENGLISH = "en-gb"
MARK_LENGTH = 8


class PaperRefused(Exception):
    """The paper can't be given out as the order stands; `problems` says each reason and the next step."""

    def __init__(self, problems):
        super().__init__(" ".join(problems))
        self.problems = problems


@dataclass(frozen=True, kw_only=True)
class PaperLine:
    """Blinds of an order that are alike in everything that a paper says of them."""

    position: int
    quantity: int
    room: str
    fabric: str
    special: str
    spec: dict
    components: dict
    numbers: tuple[str, ...] = ()


@dataclass(frozen=True)
class OfficePaper:
    """One paper of one order as it stands now."""

    kind: str
    order: Order
    lines: list[PaperLine]

    @cached_property
    def content(self):
        """All that the paper says and that could come to say something else, as plain text and numbers."""
        with translation.override(ENGLISH):
            return {
                "title": KIND[self.kind].name,
                "workshop": workshop(),
                "address": address_of(self.order.customer),
                "order": f"{self.order.number:04d}",
                "reference": self.order.reference,
                "contact": self.order.customer.contact,
                "market": MARKET_NAMES[self.order.market],
                "promised": date_format(self.order.due_on, "l j F Y"),
                "lines": [SAYS[self.kind](line) for line in self.lines],
                "blinds": sum(line.quantity for line in self.lines),
                "safety": safety_of(self.lines),
                "decides": DECIDES,
                "undecided": UNDECIDED[self.order.market],
            }

    @cached_property
    def mark(self):
        """Tells two versions apart: the same for the same content, another one as soon as anything on it changes."""
        said = json.dumps(self.content, sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(said.encode()).hexdigest()[:MARK_LENGTH].upper()

    def sketches(self):
        """Each line as a small drawing, in the order of the lines."""
        with translation.override(ENGLISH):
            return [paper.picture(from_room(spec=line.spec, font_family=paper.FONT)) for line in self.lines]


def paper_of(*, order, kind):
    """The paper of this kind as the order stands now. Raises PaperRefused where the order can't have it."""
    asked = KIND[kind]
    if order.state not in asked.states:
        state = order.get_state_display().lower()
        when = asked.when if order.state in Order.OPEN else "Nothing more is printed for it."
        raise PaperRefused([f"{order} is {state}, so there is no {asked.name.lower()}. {when}"])
    return OfficePaper(kind, order, lines_to_make(order) if order.editable else lines_made(order))


def lines_to_make(order):
    """The lines of an order that is not released yet, with what would be made today."""
    found, problems = figured(order=order), []
    for each in found:
        where = f"Line {each.line.position}"
        if each.components is None:
            problems.append(f"{where}: {each.line.system} has no published revision. Ask a manager to publish one.")
        problems += [f"{where} can't be made: {one['message']}" for one in each.refusals]
    if not found:
        problems.append(f"{order} has no lines. Add a line first.")
    if problems:
        raise PaperRefused(problems)
    return [
        PaperLine(
            position=each.line.position,
            quantity=each.line.quantity,
            room=each.line.room,
            fabric=str(each.line.fabric),
            special=each.line.special_instruction,
            spec=each.spec,
            components=each.components,
        )
        for each in found
    ]


def lines_made(order):
    """The blinds of an order that is released, as they were frozen, those of one line together that are alike."""
    alike = {}
    for blind in Blind.objects.of_order(order).not_taken_off().select_related("line", "order"):
        facts = (blind.room, blind.fabric, blind.special_instruction, blind.spec, blind.components)
        alike.setdefault((blind.line.position, json.dumps(facts, sort_keys=True)), []).append(blind)
    if not alike:
        raise PaperRefused([f"Every blind of {order} was taken off, so there is nothing to say on paper."])
    return [
        PaperLine(
            position=position,
            quantity=len(blinds),
            room=blinds[0].room,
            fabric=blinds[0].fabric,
            special=blinds[0].special_instruction,
            spec=blinds[0].spec,
            components=blinds[0].components,
            numbers=tuple(blind.number for blind in blinds),
        )
        for (position, _), blinds in sorted(alike.items(), key=lambda each: (each[0][0], each[1][0].serial))
    ]


def workshop():
    return {
        "name": settings.WORKSHOP_NAME,
        "address": settings.WORKSHOP_ADDRESS,
        "phone": settings.WORKSHOP_PHONE,
        "email": settings.WORKSHOP_EMAIL,
        "registration": settings.WORKSHOP_REGISTRATION,
    }


# Rows of the address, and about how many letters stand on one, at the largest of its sizes of type and at the others.
ADDRESS_SIZES = (("", 6, 38), ("long", 8, 46), ("longest", 10, 54))


def address_of(customer):
    """The lines for the window: name, then the address as typed, or at its commas where it was typed in one line.

    The last ones run together where they would not fit the window in the smallest type.
    """
    typed = [line.strip() for line in customer.address.splitlines() if line.strip()]
    if len(typed) == 1:
        typed = [part.strip() for part in typed[0].split(",") if part.strip()]
    _, rows, letters = ADDRESS_SIZES[-1]
    while len(typed) > 1 and rows_of([customer.name, *typed], letters) > rows:
        typed[-2:] = [", ".join(typed[-2:])]
    return [customer.name, *typed]


def rows_of(lines, letters):
    return sum(-(-len(line) // letters) for line in lines)


def address_size(lines):
    """The largest size of type at which the address stays in the window."""
    *larger, (smallest, _, _) = ADDRESS_SIZES
    return next((size for size, rows, letters in larger if rows_of(lines, letters) <= rows), smallest)


def line_of(line):
    """What every paper says of a line."""
    spec = line.spec
    return {
        "position": line.position,
        "quantity": line.quantity,
        "room": line.room or "no room named",
        "measured": paper.size(spec["width_mm"], spec["drop_mm"]),
        "basis": BASIS[spec["size_basis"]],
        "made": paper.size(line.components["finished_width_mm"], line.components["finished_drop_mm"]),
        "draw": draw_words(spec),
        "fabric": line.fabric,
        "special": line.special,
    }


BASIS = {"recess": "recess opening", "exact": "exact, finished blind"}
OTHER = {"left": "right", "right": "left"}


def draw_words(spec):
    """Where controls are and where the vanes gather, in a sentence that needs no knowledge of the trade."""
    hand = spec["hand"]
    if spec["draw"] == "split":
        where = "the vanes part in the middle and gather at both sides"
    else:
        side = hand if spec["draw"] == "one_way" else OTHER[hand]
        where = f"the vanes gather on the {side}"
    if looped(spec):
        return f"Controls on the {hand}; {where}, seen from the room."
    return f"{where[0].upper()}{where[1:]}, seen from the room."


def confirmed_line(line):
    return {**line_of(line), "control": control_words(line), "fixing": fixing_words(line)}


def control_words(line):
    """How the blind is worked, with the lengths that hang."""
    spec, figures = line.spec, line.components
    if not looped(spec):
        wands = figures["wands"]
        each = (
            f"Wand of {figure_text(figures['wand_mm'])} mm"
            if wands == 1
            else (f"{wands} wands of {figure_text(figures['wand_mm'])} mm")
        )
        return f"{each}, no cord and no chain to pull."
    chain, below = figure_text(figures["chain_drop_mm"]), figures["chain_drop_mm"] > figures["finished_drop_mm"]
    lower = ", lower than the blind itself" if below else ""
    return f"Cord and {spec['chain']} chain; the chain hangs {chain} mm{lower}. {DEVICE[spec['loop_control']]}."


DEVICE = {
    "tensioner": "A tensioner holds both taut: it must be fixed to the wall",
    "breakaway": "Breakaway joints open when they are pulled",
    "weight": "A weight hangs in the loop",
}
FIXINGS = {"top": "fixed from above", "face": "fixed to the face of the wall"}
BOTTOMS = {"chain": "chained at the bottom", "chainless": "no chain at the bottom"}


def fixing_words(line):
    spec = line.spec
    return f"{line.components['vanes']['count']} vanes of {spec['vane_width_mm']} mm, {BOTTOMS[spec['bottom']]}; " + (
        f"{FIXINGS[spec['fixing']]}."
    )


def measured_line(line):
    return {**confirmed_line(line), "difference": difference_words(line)}


def difference_words(line):
    """Why what is made is not what was measured."""
    spec, figures = line.spec, line.components
    if spec["size_basis"] == "exact":
        return "Made to this size; nothing is taken off."
    width = figure_text(spec["width_mm"] - figures["finished_width_mm"])
    drop = figure_text(spec["drop_mm"] - figures["finished_drop_mm"])
    return f"We take {width} mm off the width and {drop} mm off the drop, so that the blind moves freely in the recess."


def packed_line(line):
    return {
        **line_of(line),
        "numbers": spans(line.numbers),
        "contents": paper.contents_of(line),
        "safety": handed_over(line),
    }


def handed_over(line):
    """The safety items that leave the workshop with each of these blinds."""
    if not looped(line.spec):
        return ["nothing to pull: wand", "instructions"]
    return [
        FITTED_HERE[line.spec["loop_control"]],
        f"{line.components['warning_tags']} warning tags",
        "warning on the blind",
        "warning on the pack",
        "instructions",
    ]


FITTED_HERE = {
    "tensioner": "tensioner, on cord and chain",
    "breakaway": "breakaway joint, on cord and chain",
    "weight": "loop weight, on cord and chain",
}
SAYS = {
    MEASUREMENTS.key: measured_line,
    CONFIRMATION.key: confirmed_line,
    COLLECTION.key: packed_line,
    DELIVERY.key: packed_line,
}


def spans(numbers):
    """Blinds' numbers in few words: those that follow each other as the first and the last of them."""
    runs = []
    for number in numbers:
        serial = int(number.rpartition("-")[2])
        if runs and serial == runs[-1][-1][1] + 1:
            runs[-1].append((number, serial))
        else:
            runs.append([(number, serial)])
    return ", ".join(run[0][0] if len(run) == 1 else f"{run[0][0]} to {run[-1][0]}" for run in runs)


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
    if spec["bottom"] != "chain" or spec["market"] not in LIMITS_LOOPS:
        return None
    limit, source = LIMITS_LOOPS[spec["market"]]
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
