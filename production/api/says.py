"""What is answered: the shape of each answer, from which the OpenAPI document is made."""

import datetime as dt
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, JsonValue

from calc import components as calc_components
from calc import spec
from orders.models import Order
from production import route

Moment = Annotated[dt.datetime, Field(description="In UTC.")]
State = Literal[tuple(state for state, _ in Order.STATES)]
Millimetres = float


class Said(BaseModel):
    """An answer holds the keys that are named here; later versions may add others."""

    model_config = ConfigDict(json_schema_mode_override="serialization")


class OrderingCustomer(Said):
    id: int
    name: str


class BlindCount(Said):
    ordered: Annotated[int, Field(description="Blinds of all lines together.")]
    packed: Annotated[int, Field(description="Blinds that are packed.")]


class OrderHead(Said):
    """An order as it stands."""

    number: int
    state: State
    state_since: Moment
    customer: OrderingCustomer
    reference: str
    market: Literal[spec.MARKETS]
    due_on: Annotated[dt.date, Field(description="The promised day.")]
    rush: bool
    note: str
    entered_at: Moment
    blinds: BlindCount


class OrderLine(Said):
    """A line as it stands; the same names as where it is posted."""

    position: int
    quantity: Annotated[int, Field(description="Blinds, less those taken off at work: 0 where all were.")]
    room: str
    system: str
    width_mm: Millimetres
    drop_mm: Millimetres
    size_basis: Literal[spec.SIZE_BASES]
    vane_width_mm: Literal[spec.VANE_WIDTHS_MM]
    fabric: str
    draw: Literal[spec.DRAWS]
    hand: Literal[spec.HANDS]
    operation: Literal[spec.OPERATIONS]
    loop_control: Literal[spec.LOOP_CONTROLS] | None
    chain: Literal[spec.CHAINS] | None
    control_drop_mm: Millimetres | None
    installation_height_mm: Millimetres | None
    recess_depth_mm: Millimetres | None
    fixing: Literal[spec.FIXINGS]
    bottom: Literal[spec.BOTTOMS]
    special_instruction: str
    concerns: list[str]


class WholeOrder(OrderHead):
    """An order with its lines."""

    lines: list[OrderLine]


class LineWarning(Said):
    """Something worth looking at in a line that can be made."""

    line: Annotated[int | None, Field(description="Which of the posted lines, counted from 0; null for the order.")]
    field: Annotated[str, Field(description="The value that it is about, or empty.")]
    code: str
    detail: str
    source: str


class Accepted(Said):
    """The order as it was entered, and what is worth looking at. The same post again gets this same answer."""

    order: WholeOrder
    warnings: list[LineWarning]


class Orders(Said):
    """A page of orders by number, the oldest first."""

    orders: list[OrderHead]
    next: Annotated[str | None, Field(description="since of the next page; null where this is the last.")]


class AtStation(Said):
    station: Literal[tuple(route.STATION)]
    state: Literal[tuple(route.STATE_WORDS)]
    since: Moment


class BlindState(Said):
    """One blind in the workshop, and how it stands at each station, in the order of work."""

    number: Annotated[str, Field(description="What people call it, such as 0412-3.")]
    line: Annotated[int, Field(description="The position of its line.")]
    room: str
    stations: list[AtStation]


class Blinds(Said):
    """The blinds of an order; none before it is released."""

    order: int
    state: State
    blinds: list[BlindState]


class Change(Said):
    change: Annotated[int, Field(description="The number of this change: higher is later.")]
    order: OrderHead


class Changes(Said):
    """What has changed, the earliest change first; each order once, at its newest change, and as it stands now."""

    changes: list[Change]
    next: Annotated[str, Field(description="since of the next request, also where nothing has changed.")]
    more: Annotated[bool, Field(description="Whether there is more to be asked for at once.")]


class HardwareSystem(Said):
    code: str
    name: str
    revision: Annotated[int, Field(description="The revision in force, by which figures are worked out.")]
    finished_width_mm: Annotated[list[Millimetres], Field(description="Narrowest and widest finished blind.")]
    finished_drop_mm: Annotated[list[Millimetres], Field(description="Shortest and longest finished blind.")]


class Fabric(Said):
    code: str
    name: str
    colour: str
    vane_width_mm: Literal[spec.VANE_WIDTHS_MM]
    weight_g_per_m2: int


class Meant(Said):
    word: str
    means: str


class Catalogue(Said):
    """What may be ordered now, and the words that a line may say."""

    systems: list[HardwareSystem]
    fabrics: list[Fabric]
    words: Annotated[dict[str, list[Meant]], Field(description="By the name of the value.")]
    vane_widths_mm: list[int]


class Finding(Said):
    code: str
    severity: Literal["refuse", "warn", "note"]
    field: str
    message: str
    source: str


class Figures(Said):
    """Every part of a blind, as manage.py components prints it; null where a refusal leaves nothing to say."""

    model_config = ConfigDict(
        json_schema_extra={
            "required": list(calc_components.KEYS),
            "additionalProperties": True,
        }
    )
    working: Annotated[list[dict[str, JsonValue]], Field(description="An entry a figure: how it was worked out.")]
    findings: list[Finding]


class Wrong(Said):
    """One thing that is wrong."""

    pointer: Annotated[str, Field(description="Where it stands in what was sent: a JSON pointer (RFC 6901).")]
    line: Annotated[int | None, Field(description="Which of the posted lines, counted from 0.")]
    field: str
    value: Annotated[JsonValue, Field(description="What was given, cut short where it is long.")]
    code: str
    detail: Annotated[str, Field(description="What is wrong, and what to do.")]


class ProblemDetails(Said):
    """Why something can't be done (RFC 9457)."""

    type: Annotated[
        str,
        Field(description="Where this kind of problem is explained.", json_schema_extra={"format": "uri-reference"}),
    ]
    title: str
    status: int
    detail: Annotated[str, Field(description="What is wrong, and what to do.")]
    errors: list[Wrong] = []
