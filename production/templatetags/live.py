"""What a part of a page follows, so that the browser knows when to ask for it again."""

import time

from django import template
from django.conf import settings
from django.utils.html import format_html_join

from production.views.live import token

register = template.Library()


@register.simple_tag
def live(**concerns):
    """The attributes of the one live part of a page: `station`, `blind` with its `version`, or `order`, whose changes
    concern it; without any, every change in the workshop does."""
    attributes = {"live": "", **{f"follow-{name}": value for name, value in concerns.items()}}
    if settings.LIVE_URL:
        until = time.time() + settings.SESSION_COOKIE_AGE
        attributes["stream"] = f"{settings.LIVE_URL}?token={token(until=until)}"
    return format_html_join(" ", 'data-{}="{}"', attributes.items())
