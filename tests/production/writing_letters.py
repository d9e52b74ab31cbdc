"""Sending a customer's paper by e-mail, as a browser does, and what the order's page says of it."""

import re

from django.urls import reverse

from tests.worked import do_what_waits


def send_address(order, kind="confirmation"):
    return reverse("order-paper-send", args=[order.number, kind])


def filled(client, order, kind="confirmation", **changes):
    """What a browser sends back of the form as it was shown, with `changes` typed over."""
    form = client.get(send_address(order, kind)).context["form"]
    return {name: form[name].value() for name in form.fields} | changes


def send(client, order, kind="confirmation", **changes):
    """Press “send” and let a worker do what waits: the page that answers the press."""
    answer = client.post(send_address(order, kind), filled(client, order, kind, **changes), follow=True)
    do_what_waits()
    return answer


def order_page(client, order):
    return " ".join(re.sub(r"<[^>]+>", " ", client.get(order.get_absolute_url()).content.decode()).split())
