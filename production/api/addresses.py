"""What there is to be asked for, address by address."""

from orders.models.api_keys import ORDERS_READ, ORDERS_WRITE, STATES_READ

from . import asked, entry, says, words
from .gate import Operation, address

BODY = ("unreadable", "not-json", "too-large")

ORDERS = address(
    Operation(
        method="GET",
        name="orders",
        summary="Orders by number, page by page",
        answer=asked.orders,
        says=says.Orders,
        scope=ORDERS_READ,
        query=words.Listing,
        problems=("not-allowed", "invalid"),
    ),
    Operation(
        method="POST",
        name="post_order",
        summary="Enter an order",
        answer=entry.post_order,
        says=says.Accepted,
        status=201,
        scope=ORDERS_WRITE,
        body=words.NewOrder,
        takes_idempotency_key=True,
        problems=("not-allowed", *BODY, "invalid", "refused", "reused", "busy"),
    ),
)
ORDER = address(
    Operation(
        method="GET",
        name="order",
        summary="One order with its lines",
        answer=asked.order,
        says=says.WholeOrder,
        scope=ORDERS_READ,
        problems=("not-allowed", "not-there"),
    )
)
BLINDS = address(
    Operation(
        method="GET",
        name="blinds",
        summary="The blinds of an order: state at each station, and since when",
        answer=asked.blinds,
        says=says.Blinds,
        scope=STATES_READ,
        problems=("not-allowed", "not-there"),
    )
)
CHANGES = address(
    Operation(
        method="GET",
        name="changes",
        summary="What has changed since the last look",
        answer=asked.changes,
        says=says.Changes,
        scope=STATES_READ,
        query=words.Following,
        problems=("not-allowed", "invalid", "lost-place", "busy"),
    )
)
CATALOGUE = address(
    Operation(
        method="GET",
        name="catalogue",
        summary="Systems, fabrics and the words that a line may say",
        answer=asked.catalogue,
        says=says.Catalogue,
    )
)
FIGURES = address(
    Operation(
        method="POST",
        name="figures",
        summary="Every part of one blind, without ordering it",
        answer=asked.figures,
        says=says.Figures,
        body=words.Blind,
        problems=(*BODY, "invalid"),
    )
)
VIEWS = {
    "/orders": ORDERS,
    "/orders/{number}": ORDER,
    "/orders/{number}/blinds": BLINDS,
    "/changes": CHANGES,
    "/catalogue": CATALOGUE,
    "/figures": FIGURES,
}
