"""What the workshop puts into the office's pages: a blind's drawing, its figures, and where its order stands."""

from django import template
from django.utils.safestring import mark_safe

from production import figures
from production.drawing import headrail, views_of
from production.views.office_papers import papers_of
from production.views.order_at_work import at_work

register = template.Library()


@register.simple_tag
def drawing(spec, components, size="desk"):
    """The blind's headrail as an inline drawing; nothing where its size was refused, so that there is none."""
    if not components or components["rail_cut_mm"] is None:
        return ""
    return mark_safe(headrail(spec=spec, components=components, size=size))  # noqa: S308 - every text in it is escaped


@register.simple_tag
def drawings(spec, components):
    """Every view of the blind's headrail, by name, in the order of work; none where its size was refused."""
    if not components or components["rail_cut_mm"] is None:
        return []
    return [
        # The drawing escapes its own text.
        (view, mark_safe(headrail(spec=spec, components=components, size="station", view=view)))  # noqa: S308
        for view in views_of(spec=spec)
    ]


@register.inclusion_tag("_figures.html")
def figures_beside(form, market):
    return figures.beside(form=form, market=market)


@register.inclusion_tag("_order_at_work.html")
def order_at_work(order):
    return at_work(order=order)


@register.inclusion_tag("_customer_papers.html")
def customer_papers(order):
    return papers_of(order=order)
