"""Another program at the workshop's door, for tests: a key, and requests as JSON."""

import itertools
import json

from django.test import Client

from orders import api_keys
from orders.models.api_keys import SCOPES
from orders.roles import ADMINISTRATOR
from tests import factories

_names = itertools.count(1)
LINE = {
    "room": "Kitchen",
    "system": "demo-38",
    "width_mm": 1830,
    "drop_mm": 1600,
    "size_basis": "recess",
    "vane_width_mm": 89,
    "fabric": "linden-89",
    "draw": "split",
    "hand": "left",
    "operation": "cord_chain",
    "loop_control": "tensioner",
    "chain": "metal",
}


def catalogue():
    """One system and a fabric of each width."""
    factories.system()
    return factories.fabric(89), factories.fabric(127)


def order(*lines, **head):
    """A post of one plain line, or of lines that differ from it."""
    return (
        {"customer": {"name": "Ashdown Rooms", "email": "buying@ashdown.example"}}
        | head
        | {"lines": [LINE | line for line in lines or ({},)]}
    )


class Program:
    """What asks with one key."""

    def __init__(self, *customers, scopes=None, at=factories.AT):
        self.key, self.secret = api_keys.make(
            name=f"program {next(_names)}",
            scopes=list(dict(SCOPES)) if scopes is None else scopes,
            every_customer=not customers,
            customers=customers,
            by=factories.person(ADMINISTRATOR),
            at=at,
        )
        self.client = Client()
        self._orders = itertools.count(1)

    def get(self, path, **headers):
        return self.client.get(f"/api/v1{path}", headers={"Authorization": f"Bearer {self.secret}", **headers})

    def post(self, path, body, **headers):
        content = body if isinstance(body, bytes | str) else json.dumps(body)
        return self.client.post(
            f"/api/v1{path}",
            content,
            content_type=headers.pop("content_type", "application/json"),
            headers={"Authorization": f"Bearer {self.secret}", **headers},
        )

    def enter(self, body, *, under=None):
        """Post an order under an idempotency key, a new one unless it is given."""
        return self.post("/orders", body, **{"Idempotency-Key": under or f"order-{next(self._orders)}"})


def wrong(answer):
    """(pointer, code) of everything that an answer says is wrong."""
    return [(each["pointer"], each["code"]) for each in answer.json()["errors"]]
