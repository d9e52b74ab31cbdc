"""How the trade's values stand on a page: lengths without needless noughts, choices in words."""

import re
from decimal import Decimal

from django import template
from django.utils.html import escape, format_html
from django.utils.safestring import mark_safe
from django.utils.translation import gettext

from calc.book import constants
from orders.models.choices import MARKET_NAMES, WORDS

register = template.Library()
PLACES = Decimal("0.01")
BOOK_WORDS = {each.name: each.words for each in constants()}
_CONSTANT = re.compile(r"\b(?:vane_(?:89|127)\.)?(" + "|".join(map(re.escape, BOOK_WORDS)) + r")\b")


@register.filter
def figure(value):
    """A number with at most two decimals and no noughts after the last digit; nothing for nothing."""
    if value is None or value == "":
        return ""
    settled = Decimal(str(value)).quantize(PLACES).normalize()
    return f"{settled:f}"


@register.filter
def as_said(value):
    """A figure as `figure` gives it, and words as they are."""
    return value if isinstance(value, str) else figure(value)


@register.filter
def word(value):
    """A choice as people say it, such as 'One way' for one_way."""
    said = WORDS.get(value, MARKET_NAMES.get(value))
    return gettext(said) if said else value


@register.filter
def days_late(order, today):
    """How many days an order that is still open stands behind its promised day; 0 where it doesn't."""
    return max(0, (today - order.due_on).days) if order.state in order.OPEN else 0


@register.filter
def by_the_book(message):
    """A breach or a caution with each constant as the book names it, in bold: Idle inset for idle_inset_mm."""
    return mark_safe(  # noqa: S308 - escaped before the names, which are our own, are put in
        _CONSTANT.sub(lambda found: format_html("<b>{}</b>", BOOK_WORDS[found[1]]), escape(message))
    )
