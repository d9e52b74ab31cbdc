"""What the plan says of one order, for its page."""

from dataclasses import dataclass

from calc.promise import Quote
from orders import intake
from orders.models import Order, PromiseGiven

from . import plan_words, planning, promising


@dataclass(frozen=True, kw_only=True)
class OrderPlan:
    """`quote` and `outlook` are those of an order that is not released yet, `forecast` of one at work; None else.

    `outlook` is that of the day which the order bears, `no_day` says why there is none; `given` are its promises.
    """

    given: tuple[PromiseGiven, ...]
    quote: Quote | None = None
    outlook: promising.Outlook | None = None
    no_day: str = ""
    forecast: planning.Forecast | None = None
    way: tuple[plan_words.Way, ...] = ()
    held_up: str = ""
    promised: bool = False


def read(*, order, at):
    """The OrderPlan of `order`."""
    given = tuple(order.promises_given.with_person())
    if order.editable:
        return _before_release(order, given, at=at)
    if order.state != Order.RELEASED:
        return OrderPlan(given=given)
    plan = planning.read(at=at)
    steps = plan.plan.steps.get(order.number, ())
    return OrderPlan(given=given, forecast=plan.forecasts.get(order.number), way=tuple(plan_words.way_of(steps)))


def _before_release(order, given, *, at):
    if not promising.lines_of(order):
        return OrderPlan(given=given)
    plan = planning.read(at=at)
    quote = promising.quote(order=order, at=at, plan=plan)
    found = {"given": given, "quote": quote, "held_up": plan_words.held_up(quote.held_by, workshop=plan.workshop)}
    found["way"] = tuple(plan_words.way_of(quote.steps))
    found["promised"] = bool(given) and given[0].due_on == order.due_on
    try:
        return OrderPlan(outlook=promising.outlook(order=order, day=order.due_on, at=at, plan=plan), **found)
    except intake.Refused as refused:
        return OrderPlan(no_day=" ".join(refused.problems), **found)
