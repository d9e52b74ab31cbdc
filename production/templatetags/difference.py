"""What the workshop puts into the page that publishes a revision: the report of what it would change."""

from django import template

from production.difference import report

register = template.Library()


@register.inclusion_tag("_difference.html")
def difference_of(revision):
    return report(revision=revision)
