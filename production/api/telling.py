"""Says orders, blinds and the catalogue as JSON values, in the shapes of `says`."""

from django.db.models import Count

from calc import spec
from orders.lines import current_revisions
from orders.models import Fabric
from orders.models.choices import MARKET_NAMES, WORDS
from orders.spec import number
from production import route
from production.models import Blind, Stage

SAID_OF_A_LINE = ("size_basis", "vane_width_mm", "draw", "hand", "operation", "fixing", "bottom")
LENGTHS = ("width_mm", "drop_mm", "control_drop_mm", "installation_height_mm", "recess_depth_mm")
MAY_BE_EMPTY = ("loop_control", "chain")
WORD_LISTS = {
    "size_basis": spec.SIZE_BASES,
    "draw": spec.DRAWS,
    "hand": spec.HANDS,
    "operation": spec.OPERATIONS,
    "loop_control": spec.LOOP_CONTROLS,
    "chain": spec.CHAINS,
    "fixing": spec.FIXINGS,
    "bottom": spec.BOTTOMS,
    "market": spec.MARKETS,
}


def orders_said(orders):
    """Each of `orders`, which come with their customer and `blind_total`; one query more for all of them."""
    packed = _packed(orders)
    return [_order_said(order, packed=packed.get(order.pk, 0)) for order in orders]


def whole_order_said(order):
    """One order, which comes with its customer and `blind_total`, with its lines."""
    (said,) = orders_said([order])
    return said | {"lines": [_line_said(line) for line in order.lines.in_order()]}


def _order_said(order, *, packed):
    return {
        "number": order.number,
        "state": order.state,
        "state_since": order.state_since,
        "customer": {"id": order.customer_id, "name": order.customer.name},
        "reference": order.reference,
        "market": order.market,
        "due_on": order.due_on,
        "rush": order.rush,
        "note": order.note,
        "entered_at": order.entered_at,
        "blinds": {"ordered": order.blind_total, "packed": packed},
    }


def _packed(orders):
    """How many blinds of each order are packed, by the order's key."""
    stages = Stage.objects.filter(
        station=route.PACKING, state=route.DONE, blind__order__in=[each.pk for each in orders]
    )
    return dict(stages.order_by().values_list("blind__order").annotate(Count("pk")))


def _line_said(line):
    return {
        "position": line.position,
        "quantity": line.quantity - line.taken_off,
        "room": line.room,
        "system": line.system.code,
        "fabric": line.fabric.code,
        **{name: number(getattr(line, name)) for name in LENGTHS},
        **{name: getattr(line, name) for name in SAID_OF_A_LINE},
        **{name: getattr(line, name) or None for name in MAY_BE_EMPTY},
        "special_instruction": line.special_instruction,
        "concerns": line.concerns,
    }


def blinds_said(order):
    """Every blind of `order` and how it stands at each station; two queries."""
    blinds = Blind.objects.of_order(order).select_related("line", "order").prefetch_related("stages")
    return {
        "order": order.number,
        "state": order.state,
        "blinds": [
            {
                "number": blind.number,
                "line": blind.line.position,
                "room": blind.room,
                "stations": _stations_said({stage.station: stage for stage in blind.stages.all()}),
            }
            for blind in blinds
        ],
    }


def _stations_said(stages):
    return [
        {"station": key, "state": stages[key].state, "since": stages[key].since}
        for key in route.STATION
        if key in stages
    ]


def catalogue_said():
    """What may be ordered now, and the words that a line may say; two queries."""
    return {
        "systems": [_system_said(revision) for revision in current_revisions().values()],
        "fabrics": [
            {
                "code": fabric.code,
                "name": fabric.name,
                "colour": fabric.colour,
                "vane_width_mm": fabric.vane_width_mm,
                "weight_g_per_m2": fabric.weight_g_per_m2,
            }
            for fabric in Fabric.objects.offered()
        ],
        "words": {
            name: [{"word": word, "means": (MARKET_NAMES if name == "market" else WORDS)[word]} for word in words]
            for name, words in WORD_LISTS.items()
        },
        "vane_widths_mm": list(spec.VANE_WIDTHS_MM),
    }


def _system_said(revision):
    system = revision.as_system()
    return {
        "code": revision.system.code,
        "name": revision.system.name,
        "revision": revision.number,
        "finished_width_mm": [number(float(each)) for each in (system.min_width_mm, system.max_width_mm)],
        "finished_drop_mm": [number(float(each)) for each in (system.min_drop_mm, system.max_drop_mm)],
    }
