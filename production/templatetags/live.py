"""What a part of a page follows, so that the browser knows when to ask for it again."""

from django import template
from django.conf import settings
from django.utils.html import format_html_join

from production.views.live import token_from_now

register = template.Library()


@register.simple_tag(takes_context=True)
def live(context, **concerns):
    """The attributes of the one live part of a page: `station`, `blind` with its `version`, or `order`, whose changes
    concern it; without any, every change in the workshop does."""
    attributes = {"live": "", **{f"follow-{name}": value for name, value in concerns.items()}}
    if settings.LIVE_URL:
        attributes["stream"] = f"{settings.LIVE_URL}?token={context.get('stream_token') or token_from_now()}"
    return format_html_join(" ", 'data-{}="{}"', attributes.items())
