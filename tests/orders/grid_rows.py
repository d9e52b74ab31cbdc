"""What a browser sends for an order's grid of lines, and what is answered."""

import uuid

from django.urls import reverse

from tests.typed_line import typed_line


def row(index, **given):
    """What a browser sends for row `index`: a plain line, with what is given."""
    return {f"r{index}-{name}": value for name, value in typed_line(**given).items()}


BLANK = dict.fromkeys(("room", "size_basis", "width_mm", "drop_mm", "hand"), "")


def seen(client, order):
    return client.get(reverse("lines", args=[order.number])).context["grid"].seen


def send(client, order, *rows, to="lines", **fields):
    sent = {"seen": seen(client, order), "form_id": str(uuid.uuid4())}
    for each in rows:
        sent |= each
    return client.post(reverse(to, args=[order.number]), sent | fields)


def figures(client, order, *rows, **fields):
    answer = send(client, order, *rows, to="lines-figures", **fields)
    assert answer.status_code == 200
    return answer.content.decode()


def sizes(order):
    return [(line.position, line.room, str(line.width_mm)) for line in order.lines.in_order()]
