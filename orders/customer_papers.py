"""Which papers a customer is given, and in which states of the order. Pure."""

from typing import NamedTuple

DRAFT, CONFIRMED, RELEASED, READY = "draft", "confirmed", "released", "ready"
COLLECTED, DELIVERED = "collected", "delivered"


class Kind(NamedTuple):
    key: str
    name: str
    states: tuple[str, ...]
    when: str
    """What must be done first where the order is in none of `states` yet."""


MEASUREMENTS = Kind(
    "measurements",
    "Measurements to confirm",
    (DRAFT, CONFIRMED),
    "They are asked about before the order is released.",
)
CONFIRMATION = Kind(
    "confirmation",
    "Order confirmation",
    (CONFIRMED, RELEASED, READY, COLLECTED, DELIVERED),
    "Confirm the order first.",
)
COLLECTION = Kind("collection", "Collection note", (READY, COLLECTED), "It is there once every blind is packed.")
DELIVERY = Kind("delivery", "Delivery note", (READY, DELIVERED), "It is there once every blind is packed.")
KINDS = (MEASUREMENTS, CONFIRMATION, COLLECTION, DELIVERY)
KIND = {kind.key: kind for kind in KINDS}


def kinds_in(state):
    """The papers of an order in `state`, in the order in which they are needed."""
    return [kind for kind in KINDS if state in kind.states]
