"""The papers that a customer is given: which lines stand on each, all that it says, and the mark of what it says."""

import hashlib
import json
from dataclasses import dataclass
from functools import cached_property

from django.conf import settings
from django.utils import translation
from django.utils.formats import date_format

from calc.safety import DECIDES
from calc.supply import UNDECIDED
from orders.customer_papers import KIND
from orders.lines import figured
from orders.models import Order
from orders.models.choices import MARKET_NAMES
from production import paper
from production.drawing.from_room import from_room
from production.models import Blind
from production.office_lines import SAYS
from production.safety_rule import safety_of

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
