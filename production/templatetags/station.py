"""How counts and times stand on a station's page."""

from django import template
from django.utils import timezone
from django.utils.formats import date_format

from production.drawing.rail import letter_of

register = template.Library()


@register.filter
def marks(count, hand):
    """A mark for each of `count` carriers, from the left: 'lead' towards the middle, 'five' after every fifth one."""
    found = ["five" if place % 5 == 0 and place < count else "" for place in range(1, count + 1)]
    if found:
        found[-1] = "lead"
    if hand == "left":
        return found
    # Seen from the other end, the wider space stands before the mark instead of after it.
    mirrored = ["before" if name == "five" else name for name in reversed(found)]
    return mirrored


@register.filter
def moment(at):
    """A moment as people at the bench say it: the time, with its day unless that is today."""
    local, today = timezone.localtime(at), timezone.localdate()
    return date_format(local, "H:i" if local.date() == today else "D j M H:i")


@register.filter
def letter(hand):
    """The letter of a hand, as its drawings and labels carry it."""
    return letter_of(hand)
