"""Whether somebody does what waits."""

from django import template

from orders import work

register = template.Library()
register.simple_tag(work.worker_seen)
