"""What the plan says of an order, for the office's pages."""

from django import template
from django.utils import timezone

from orders.calendar import said
from production import order_plan, plan_words, planning, promising
from production.views.plan import late_context

register = template.Library()
register.filter("late_words", plan_words.late_words)
register.filter("said", said)
register.filter("verdict", plan_words.verdict)


@register.filter
def holds(person, role):
    """Whether `person` holds `role`."""
    return person.holds(role)


@register.simple_tag
def plan_for(order):
    """What the plan says of `order` now."""
    return order_plan.read(order=order, at=timezone.now())


@register.simple_tag
def earliest_of(grid):
    """The calc Quote of the grid's order with the rows that can be made as they stand; None where there is none."""
    lines = [row.line for row in grid.counting if row.components]
    return promising.quote_as_typed(order=grid.order, lines=lines, at=timezone.now())


@register.inclusion_tag("_late_by_plan.html")
def late_by_plan():
    return late_context(planning.read(at=timezone.now()))
