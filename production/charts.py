"""Charts as SVG: ruled paper and ink columns. Pure: numbers and words in, a drawing as text out.

Each chart carries its title and its figures in words for whoever can't see it; the page shows the same as a table.
"""

from dataclasses import dataclass
from html import escape
from math import ceil

COLUMN = 40
BAR = 22
TOP = 26
PLOT = 64
LABEL = 20
RULES = 4
"""Faint rules across the plot, at most."""


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column: `count` is None where the time hasn't come yet; `running` while it is still being counted."""

    label: str
    count: int | None
    running: bool = False
    below: str = ""


def columns(*, name, title, unit, bars, highest):
    """A chart of `bars` (Columns), `highest` being the count that fills its height, so that charts can share a scale.

    `name` is unique on the page; `unit` names what is counted, in the plural.
    """
    width = COLUMN * len(bars)
    height = TOP + PLOT + LABEL * (2 if any(bar.below for bar in bars) else 1)
    highest = max(highest, 1)
    parts = [_rules(width, highest), *(_bar(bar, index, highest) for index, bar in enumerate(bars))]
    parts.append(f'<path class="base" d="M0 {TOP + PLOT}H{width}"/>')
    return (
        f'<svg class="chart" viewBox="0 0 {width} {height}" role="img" aria-labelledby="{name}-title {name}-desc">'
        f'<title id="{name}-title">{escape(title)}</title>'
        f'<desc id="{name}-desc">{escape(in_words(unit=unit, bars=bars))}</desc>'
        f"{''.join(parts)}</svg>"
    )


def in_words(*, unit, bars):
    """The chart's figures as a sentence."""
    told = [
        f"{bar.label}{' ' + bar.below if bar.below else ''}: {bar.count}{' so far' if bar.running else ''}"
        for bar in bars
        if bar.count is not None
    ]
    return f"{unit}, {', '.join(told)}." if told else f"{unit}: nothing yet."


def rule_step(*, highest):
    """The distance of the rules: the least of 1, 2, 5, 10, 20, 50 ... that needs no more than RULES of them."""
    step, scale = 1, 1
    while ceil(highest / step) > RULES:
        for factor in (1, 2, 5):
            step = factor * scale
            if ceil(highest / step) <= RULES:
                return step
        scale *= 10
    return step


def _height(count, highest):
    return round(PLOT * count / highest, 1)


def _rules(width, highest):
    step = rule_step(highest=highest)
    levels = range(step, highest + 1, step)
    lines = "".join(f"M0 {TOP + PLOT - _height(level, highest):g}H{width}" for level in levels)
    return f'<path class="rule" d="{lines}"/>'


def _bar(bar, index, highest):
    middle = COLUMN * index + COLUMN / 2
    parts = [_text(middle, TOP + PLOT + 16, bar.label, "label")]
    if bar.below:
        parts.append(_text(middle, TOP + PLOT + 16 + LABEL, bar.below, "label"))
    if bar.count is not None:
        height = _height(bar.count, highest)
        if bar.count:
            kind = "bar running" if bar.running else "bar"
            left, top = middle - BAR / 2, TOP + PLOT - height
            parts.append(f'<rect class="{kind}" x="{left:g}" y="{top:g}" width="{BAR}" height="{height:g}"/>')
        parts.append(_text(middle, TOP + PLOT - height - 5, str(bar.count), "value" if bar.count else "label"))
    return "".join(parts)


def _text(x, y, text, kind):
    return f'<text class="{kind}" x="{x:g}" y="{y:g}">{escape(text)}</text>'
