"""What a program sends: each value with its limits and meaning. The OpenAPI document is made from these.

Lengths are millimetres, whole or in tenths, and keep the names that `manage.py components` reads.
"""

import datetime as dt
import re
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    JsonValue,
    StringConstraints,
    Tag,
    create_model,
)
from pydantic import WithJsonSchema as Said
from pydantic_core import PydanticCustomError

from calc import spec
from calc.spec import tenths
from production.route import STATIONS

LINES_AT_MOST = 200
_PLAIN = r"^[^\x00-\x1f\x7f]*$"
_NAMED = r"^[^\x00-\x20\x7f][^\x00-\x1f\x7f]*$"
_LINES = r"^[^\x00-\x08\x0b-\x1f\x7f]*$"
_LABEL = r"[A-Za-z0-9]([A-Za-z0-9-]{0,40}[A-Za-z0-9])?"
MAIL = rf"^([A-Za-z0-9_+-]+(\.[A-Za-z0-9_+-]+)*@({_LABEL}\.)+[A-Za-z]{{2,20}})?$"
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)

MARKET = "The market whose child-safety rule each line is held against."


def text(most, *, pattern=_PLAIN, least=0):
    return Annotated[str, StringConstraints(min_length=least, max_length=most, pattern=pattern)]


def length(least, most):
    """Millimetres from `least` to `most`, whole or in tenths; exact."""

    def read(value):
        found = tenths(value)
        if found is None or not least <= found <= most:
            raise PydanticCustomError(
                "length",
                "it must be a length in millimetres from {least} to {most}, whole or in tenths",
                {"least": least, "most": most},
            )
        return Decimal(value)

    schema = {"type": "number", "minimum": least, "maximum": most, "multipleOf": 0.1}
    return Annotated[Decimal, BeforeValidator(read), Said(schema)]


def _day(value):
    try:
        if isinstance(value, str) and _DAY.fullmatch(value):
            return dt.date.fromisoformat(value)
    except ValueError:
        pass
    raise PydanticCustomError("day", "it must be a day as year-month-day, such as 2026-03-18")


Day = Annotated[dt.date, BeforeValidator(_day), Said({"type": "string", "format": "date"})]
Market = Literal[spec.MARKETS]


class Sent(BaseModel):
    """What is sent holds the keys that are named here and no others."""

    model_config = ConfigDict(strict=True, extra="forbid")


class KnownCustomer(Sent):
    """A customer that the workshop has already."""

    id: Annotated[int, Field(ge=1, le=2**31 - 1, description="The customer's number, as orders give it.")]


class NamedCustomer(Sent):
    """A customer by name. One with the same name and e-mail, or the same name and phone where no e-mail is given, is
    taken to be the same; else the customer is entered anew."""

    name: text(80, pattern=_NAMED, least=1)
    contact: text(80) = ""
    phone: text(30) = ""
    email: text(120, pattern=MAIL) = ""
    address: text(300, pattern=_LINES) = ""
    trade: bool = False
    market: Annotated[Market, Field(description="The customer's usual market.")] = "en13120"


def _which_customer(value):
    given = value if isinstance(value, dict) else getattr(value, "__dict__", {})
    return "known" if "id" in given else "named"


EitherCustomer = Annotated[
    Annotated[KnownCustomer, Tag("known")] | Annotated[NamedCustomer, Tag("named")], Discriminator(_which_customer)
]


class Line(Sent):
    """One size and make of blind, once or several times."""

    quantity: Annotated[int, Field(ge=1, le=99)] = 1
    room: text(60) = ""
    system: Annotated[text(40, least=1), Field(description="The hardware system's code, from the catalogue.")]
    width_mm: Annotated[length(100, 10_000), Field(description="Width as measured.")]
    drop_mm: Annotated[length(100, 10_000), Field(description="Drop as measured.")]
    size_basis: Annotated[
        Literal[spec.SIZE_BASES],
        Field(description="recess: the opening was measured, and clearance comes off. exact: the finished blind."),
    ]
    vane_width_mm: Literal[spec.VANE_WIDTHS_MM]
    fabric: Annotated[text(40, least=1), Field(description="The fabric's code, from the catalogue.")]
    draw: Annotated[
        Literal[spec.DRAWS],
        Field(description="one_way gathers at the controls, reverse away from them, split at both ends."),
    ]
    hand: Annotated[Literal[spec.HANDS], Field(description="The side of the controls, seen from the room.")]
    operation: Literal[spec.OPERATIONS]
    loop_control: Annotated[
        Literal[spec.LOOP_CONTROLS] | None, Field(description="Needed with cord_chain; left out with a wand.")
    ] = None
    chain: Annotated[
        Literal[spec.CHAINS] | None, Field(description="Needed with cord_chain; left out with a wand.")
    ] = None
    control_drop_mm: Annotated[
        length(50, 5000) | None,
        Field(description="How far the chain hangs; worked out from drop and market where it is left out."),
    ] = None
    installation_height_mm: Annotated[
        length(300, 10_000) | None, Field(description="Floor to the top of the blind, if it is known.")
    ] = None
    recess_depth_mm: Annotated[
        length(10, 2000) | None, Field(description="Free depth to the glass or handle, if it was measured.")
    ] = None
    fixing: Literal[spec.FIXINGS] = "top"
    bottom: Literal[spec.BOTTOMS] = "chain"
    special_instruction: text(300, pattern=_LINES) = ""
    concerns: Annotated[
        list[Literal[tuple(station.key for station in STATIONS)]],
        Field(
            max_length=len(STATIONS),
            description="Stations that must acknowledge the special instruction; all of them where none is named.",
        ),
    ] = []


EXAMPLE = {
    "customer": {"name": "Marlow Court Interiors", "email": "orders@marlow-court.example"},
    "reference": "MC-2041",
    "confirm": False,
    "lines": [
        {
            "room": "Kitchen",
            "system": "demo-38",
            "width_mm": 1830,
            "drop_mm": 1600.5,
            "size_basis": "recess",
            "vane_width_mm": 89,
            "fabric": "linden-89",
            "draw": "split",
            "hand": "left",
            "operation": "cord_chain",
            "loop_control": "tensioner",
            "chain": "metal",
        }
    ],
}


class NewOrder(Sent):
    """An order to be entered, as a draft or confirmed at once."""

    model_config = ConfigDict(json_schema_extra={"examples": [EXAMPLE]})

    customer: Annotated[
        EitherCustomer | None,
        Field(description="Who orders; may be left out where the key is for one customer alone."),
    ] = None
    reference: Annotated[text(60), Field(description="The customer's own reference.")] = ""
    market: Annotated[
        Market | None, Field(description=f"{MARKET} The customer's usual market where it is left out.")
    ] = None
    due_on: Annotated[
        Day | None,
        Field(
            description="The day wanted; left out, the workshop's usual day or the earliest that it can keep. "
            "The answer says which."
        ),
    ] = None
    rush: Annotated[bool, Field(description="Goes before others due the same day.")] = False
    note: text(500, pattern=_LINES) = ""
    confirm: Annotated[
        bool,
        Field(
            description="true: the order is confirmed at once, for a day that the plan can keep. false: it stays a "
            "draft for the office to look at."
        ),
    ] = False
    sure: Annotated[
        bool,
        Field(
            description="true: every size is right as it stands, so that no likely slip is asked about. An order with "
            "such a question isn't confirmed."
        ),
    ] = False
    lines: Annotated[list[Line], Field(min_length=1, max_length=LINES_AT_MOST)]


class Listing(Sent):
    """Which orders, and from where on."""

    state: Literal["draft", "confirmed", "released", "ready", "collected", "delivered", "cancelled"] | None = None
    since: Annotated[
        str, StringConstraints(pattern=r"^[0-9]{1,9}$"), Field(description="The next of the page before.")
    ] = "0"
    limit: Annotated[int, Field(ge=1, le=200, description="Orders on a page.")] = 50


class Following(Sent):
    """From where on to say what has changed."""

    since: Annotated[
        str,
        StringConstraints(pattern=r"^[0-9]{1,18}$"),
        Field(description="The next of the answer before; left out, every order is told as it stands."),
    ] = "0"
    limit: Annotated[int, Field(ge=1, le=200, description="Changes on a page.")] = 100


_WORDS_OF_A_BLIND = {
    "size_basis": spec.SIZE_BASES,
    "vane_width_mm": spec.VANE_WIDTHS_MM,
    "draw": spec.DRAWS,
    "hand": spec.HANDS,
    "operation": spec.OPERATIONS,
    "loop_control": spec.LOOP_CONTROLS,
    "chain": spec.CHAINS,
    "market": spec.MARKETS,
    "fixing": spec.FIXINGS,
    "bottom": spec.BOTTOMS,
}


def _said_of(key):
    words = _WORDS_OF_A_BLIND.get(key)
    return f"One of {', '.join(map(str, words))}." if words else "Text." if key == "system" else "A number."


Blind = create_model(
    "Blind",
    __config__=ConfigDict(extra="allow"),
    __doc__="One blind as manage.py components reads it. Whatever is wrong with it is said in findings.",
    **{key: (JsonValue, Field(None, description=_said_of(key))) for key in spec.KEYS},
)


def repeated(value):
    """`value` as a problem repeats it: a plain value, short; None for what has parts."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int | Decimal):
        plain = value if isinstance(value, int) else float(value)
        return plain if abs(plain) < 10**15 else "a number too large to repeat"
    if isinstance(value, str):
        value = value.encode("utf-8", "replace").decode()
        return value if len(value) <= 60 else f"{value[:57]}..."
    return None
