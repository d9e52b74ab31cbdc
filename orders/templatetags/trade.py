"""How the trade's values stand on a page: lengths without needless noughts, choices in words."""

from decimal import Decimal

from django import template

from orders.models.orders import MARKET_NAMES, WORDS

register = template.Library()
PLACES = Decimal("0.01")


@register.filter
def figure(value):
    """A number with at most two decimals and no noughts after the last digit; nothing for nothing."""
    if value is None or value == "":
        return ""
    settled = Decimal(str(value)).quantize(PLACES).normalize()
    return f"{settled:f}"


@register.filter
def word(value):
    """A choice as people say it, such as 'One way' for one_way."""
    return WORDS.get(value, MARKET_NAMES.get(value, value))


@register.filter
def days_late(order, today):
    """How many days an order that is still open stands behind its promised day; 0 where it doesn't."""
    return max(0, (today - order.due_on).days) if order.state in order.OPEN else 0
