"""The demo's order book: who orders what, when and for which day. Sizes and makes are drawn at random from a seed."""

import datetime as dt
from dataclasses import dataclass, field
from decimal import Decimal

from calc.order_of_work import Work, place, widths_in_turn
from orders import intake
from orders.models import Order, OrderLine
from production import worktimes

from .worktime import weekday_after

# What becomes of an order, where the story needs it: see `_stories`.
DRAFT, CONFIRMED, CANCELLED, STUCK = "draft", "confirmed", "cancelled", "stuck"
UNRELEASED = 5
"""The last orders: two drafts, two confirmed, one cancelled."""
SHORTEST_CHAIN_MM = 400
"""Nobody orders a shorter one, so a line whose height would allow no more is drawn again."""
PROMISED_DAYS = 8
RUSH_DAYS = 3
BLINDS_AN_ORDER = 7
STUCK_INSTRUCTION = "Metal chain, 600 mm drop, from the customer's own reel: it comes by post."


@dataclass(kw_only=True)
class Entry:
    """One order of the book, before it is entered."""

    entered_at: dt.datetime
    customer: object
    size: int
    due_on: dt.date
    rush: bool = False
    story: str = ""
    order: Order | None = field(default=None)
    turn: tuple = ()
    widths: tuple = ()

    def settle_turn(self, specs):
        """Its place in the order of work, and its vane widths in turn, by what its blinds are."""
        kinds = [worktimes.kind_of_spec(spec) for spec in specs]
        minutes = sum(start.minutes(kind) for start in worktimes.STARTS.values() for kind in kinds)
        widths = tuple(sorted({spec["vane_width_mm"] for spec in specs}))
        due_on, rush = self.order.due_on, self.order.rush
        work = Work(key=self.order.number, minutes={"all": minutes}, first=due_on, due=due_on, rush=rush, widths=widths)
        self.turn, self.widths = place(work), widths_in_turn(work)


def book(*, customers, blinds, shifts, zone, rng):
    """About `blinds` blinds in orders entered over `shifts`, oldest first; every story is among them."""
    sizes = _sizes(count=max(14, round(blinds / BLINDS_AN_ORDER)), blinds=blinds, rng=rng)
    entries = [
        _entry(size, entered_at=at, customers=customers, zone=zone, rng=rng)
        for size, at in zip(sizes, _entry_times(count=len(sizes), shifts=shifts, rng=rng), strict=True)
    ]
    _stories(entries, shifts=shifts, zone=zone)
    return entries


def _sizes(*, count, blinds, rng):
    """Small orders of private customers and large ones of the trade, about `blinds` in all; the last few are small."""
    small = [rng.randrange(1, 4) for _ in range(UNRELEASED)]
    weights = [rng.uniform(1, 3) if rng.random() < 0.5 else rng.uniform(5, 16) for _ in range(count - UNRELEASED)]
    each = (blinds - sum(small)) / sum(weights)
    return [max(1, round(weight * each)) for weight in weights] + small


def _entry_times(*, count, shifts, rng):
    """The first eighth of the orders on the first morning, so that there is work; the others evenly after that."""
    total = sum((shift.closes - shift.opens for shift in shifts), dt.timedelta())
    times = []
    for index in range(count):
        into = total * max(0, index - count // 8) / (count - count // 8)
        for shift in shifts:
            if into < shift.closes - shift.opens:
                break
            into -= shift.closes - shift.opens
        times.append(shift.opens + into + dt.timedelta(seconds=rng.randrange(90)))
    return sorted(min(at, shifts[-1].closes) for at in times)


def _entry(size, *, entered_at, customers, zone, rng):
    fitting = [customer for customer in customers if customer.trade == (size > 5)]
    usual = [customer for customer in fitting if customer.market == "en13120"]
    rush = rng.random() < 0.08
    days = RUSH_DAYS if rush else PROMISED_DAYS + rng.randrange(3)
    return Entry(
        entered_at=entered_at,
        customer=rng.choice(fitting if rng.random() < 0.3 else usual),
        size=size,
        due_on=weekday_after(entered_at.astimezone(zone).date(), days=days),
        rush=rush,
    )


def _stories(entries, *, shifts, zone):
    """The last orders are not released yet; one was cancelled; a large one is due today; an early small one is late."""
    entries[-1].story = entries[-2].story = DRAFT
    entries[-3].story = entries[-4].story = CONFIRMED
    entries[-5].story = CANCELLED
    today = shifts[-1].closes.astimezone(zone).date()
    if len(shifts) > 6:
        lately = [
            entry for entry in entries if shifts[-6].opens < entry.entered_at < shifts[-4].closes and not entry.story
        ]
        max(lately, key=lambda entry: entry.size).due_on = today
    early = [entry for entry in entries if entry.entered_at < shifts[-max(1, len(shifts) - 8)].closes]
    stuck = min(early[: len(early) // 2 + 1] if len(shifts) < 8 else early[-8:], key=lambda entry: abs(entry.size - 3))
    stuck.story = STUCK
    stuck.due_on = weekday_after(today, days=-1)


def enter(entry, *, desk, system, fabrics, rooms, instructions, rng):
    """Enter the order as sales would: its head, then its lines."""
    customer = entry.customer
    entry.order = intake.open_order(
        by=desk,
        at=entry.entered_at,
        customer=customer,
        reference=f"PO {rng.randrange(2000, 9000)}" if customer.trade else "",
        market=customer.market,
        due_on=entry.due_on,
        rush=entry.rush,
    )
    left, basis = entry.size, None
    while left:
        quantity = min(left, rng.choice((1, 1, 2, 2, 3, 4) if customer.trade else (1, 1, 1, 2)))
        line = _line(entry, basis=basis, quantity=quantity, system=system, fabrics=fabrics, rooms=rooms, rng=rng)
        # Whoever measured an order measured all of it the same way.
        basis = line.size_basis
        if entry.story == STUCK and line.operation == "cord_chain":
            line.special_instruction, line.concerns = STUCK_INSTRUCTION, ["stringing", "checking"]
        elif rng.random() < 0.07:
            given = rng.choice(instructions)
            line.special_instruction, line.concerns = given["text"], given["concerns"]
        intake.save_line(order=entry.order, line=line)
        left -= quantity


def _line(entry, *, basis, quantity, system, fabrics, rooms, rng):
    """A line that can be made in the order's market: what is refused is drawn again."""
    for _ in range(60):
        fields = _made_up(market=entry.order.market, rng=rng)
        fields["size_basis"] = basis or fields["size_basis"]
        if entry.story == STUCK and fields["operation"] == "wand":
            continue
        line = OrderLine(
            quantity=quantity,
            room=rng.choice(rooms["trade" if entry.customer.trade else "private"]),
            system=system,
            fabric=rng.choice([one for one in fabrics if one.vane_width_mm == fields["vane_width_mm"]]),
            **fields,
        )
        problems = intake.line_problems(line=line, market=entry.order.market)
        if not problems and not _too_short(line, market=entry.order.market):
            return line
    raise intake.Refused(problems)


def _too_short(line, *, market):
    chain_mm = intake.line_figures(line=line, market=market)["chain_drop_mm"]
    return chain_mm is not None and chain_mm < SHORTEST_CHAIN_MM


def _made_up(*, market, rng):
    wand = market in ("canada", "usa") or rng.random() < 0.12
    drop = Decimal(rng.randrange(900, 2700, 1))
    looped = {
        "operation": "cord_chain",
        "loop_control": "tensioner" if rng.random() < 0.85 else "breakaway",
        "chain": rng.choice(("plastic", "plastic", "metal")),
        "installation_height_mm": drop + rng.randrange(0, 900, 10) if rng.random() < 0.4 else None,
    }
    return {
        "width_mm": Decimal(int(rng.triangular(480, 4300, 1700))),
        "drop_mm": drop,
        "size_basis": "recess" if rng.random() < 0.8 else "exact",
        "vane_width_mm": 89 if rng.random() < 0.65 else 127,
        "draw": rng.choice(("split", "split", "one_way", "one_way") if wand else ("split", "one_way", "reverse")),
        "hand": rng.choice(("left", "right")),
        "fixing": "top" if rng.random() < 0.75 else "face",
        "bottom": "chain" if market == "en13120" and rng.random() < 0.85 else "chainless",
        **({"operation": "wand", "loop_control": "", "chain": ""} if wand else looped),
    }
