"""Lines, words and dimension lines as SVG, in the current ink; no geometry of blinds here.

Only presentation attributes and class names are written, so that a page's style sheet may restyle a drawing, a strict
content security policy lets it through, and the same drawing prints black where no style sheet reaches it.
"""

from contextlib import contextmanager
from dataclasses import dataclass
from html import escape

WIDE, NARROW = "mwMWOQ@%&—", "iljtfrI1.,:;'|!()[] "


def text_width(text: str, *, size: float, bold: bool = False) -> float:
    """A safe estimate of how wide `text` stands in a plain sans-serif face; the same unit as `size`."""
    units = sum(0.92 if c in WIDE else 0.62 if c.isdigit() else 0.36 if c in NARROW else 0.6 for c in text)
    return units * size * (1.06 if bold else 1)


def figure_text(value) -> str:
    """A figure as a workshop reads it: whole, or to a tenth."""
    rounded = round(float(value) + 1e-9, 1)
    return f"{rounded:.0f}" if rounded == int(rounded) else f"{rounded:.1f}"


@dataclass(frozen=True)
class Label:
    """A figure with the name of its part before it; either may be empty."""

    name: str
    figure: str

    def width(self, sheet):
        return (
            text_width(self.name, size=sheet.text)
            + text_width(self.figure, size=sheet.figure, bold=True)
            + (sheet.text * 0.4 if self.name and self.figure else 0)
        )


class Pen:
    """Collects the marks of one drawing."""

    def __init__(self, sheet):
        self.sheet = sheet
        self._marks = []

    def __str__(self):
        return "".join(self._marks)

    @contextmanager
    def group(self, css_class, *, figure=None, step=None):
        """Marks that belong together; `figure`: the key of the figure whose working they open; `step`: its number."""
        key = f' data-figure="{escape(figure)}"' if figure else ""
        number = f' data-step="{step}"' if step else ""
        self._marks.append(f'<g class="{css_class}"{key}{number}>')
        yield
        self._marks.append("</g>")

    def line(self, x1, y1, x2, y2, *, thick=1.0, dash=None, css_class=None):
        self._add(
            f'<line x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}"{_stroke(thick, dash)}{_class(css_class)}/>'
        )

    def rect(self, x, y, width, height, *, thick=1.0, fill="none", css_class=None, round=0):
        corner = f' rx="{_n(round)}"' if round else ""
        self._add(
            f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}"{corner}'
            f' fill="{fill}"{_stroke(thick)}{_class(css_class)}/>'
        )

    def solid(self, x, y, width, height):
        self.rect(x, y, width, height, thick=0, fill="currentColor")

    def ground(self, x, y, width, height):
        """Clears what lies under, so that words stay legible on lines."""
        self.rect(x, y, width, height, thick=0, fill="#fff", css_class="ground")

    def path(self, d, *, thick=1.0, fill="none", dash=None, css_class=None):
        self._add(f'<path d="{d}" fill="{fill}"{_stroke(thick, dash)}{_class(css_class)}/>')

    def polygon(self, *points, fill="currentColor", thick=0.0, css_class=None):
        d = "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points) + "z"
        self.path(d, fill=fill, thick=thick, css_class=css_class)

    def circle(self, x, y, radius, *, thick=1.0, fill="none", css_class=None):
        self._add(
            f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" fill="{fill}"{_stroke(thick)}{_class(css_class)}/>'
        )

    def text(self, x, y, text, *, size=None, bold=False, anchor="start", clear=False):
        """Words with their baseline at y; `clear` wipes the ground behind them first."""
        size = size or self.sheet.text
        if clear:
            width = text_width(text, size=size, bold=bold)
            left = x - {"start": 0, "middle": width / 2, "end": width}[anchor]
            self.ground(left - 1, y - size * 0.8, width + 2, size)
        weight = ' font-weight="700"' if bold else ""
        self._add(
            f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}"{weight} text-anchor="{anchor}"'
            f' fill="currentColor" stroke="none">{escape(text)}</text>'
        )

    def figure_size(self, text, *, room):
        """The size of a figure that has `room` from side to side: the sheet's, or less where it is too long."""
        return min(self.sheet.figure, self.sheet.figure * room / text_width(text, size=self.sheet.figure, bold=True))

    def label(self, x, y, label: Label):
        """A label whose left edge is x: name, then figure, meeting at one point so that any face keeps them apart."""
        meet = x + text_width(label.name, size=self.sheet.text)
        if label.name:
            self.text(meet, y, label.name, anchor="end", clear=True)
        if label.figure:
            start = meet + (self.sheet.text * 0.4 if label.name else 0)
            self.text(start, y, label.figure, size=self.sheet.figure, bold=True, clear=True)

    def arrow(self, x, y, *, to):
        """The head of a dimension line at x, pointing `to` -1 (left) or +1 (right)."""
        reach = self.sheet.arrow
        self.polygon((x, y), (x - to * reach, y - reach * 0.36), (x - to * reach, y + reach * 0.36))

    def arrow_down(self, x, y, *, to):
        """The head of a standing dimension line at y, pointing `to` -1 (up) or +1 (down)."""
        reach = self.sheet.arrow
        self.polygon((x, y), (x - reach * 0.36, y - to * reach), (x + reach * 0.36, y - to * reach))

    def hatched(self, x, y, width, height, *, lean, css_class):
        """A box with strokes at 45 degrees; `lean` -1 (\\) for left-hand parts, +1 (/) for right-hand parts."""
        strokes = [f"M{_n(x)} {_n(y)}h{_n(width)}v{_n(height)}h-{_n(width)}z"]
        along = self.sheet.hatch / 2
        while along < width + height:
            start = (max(along - height, 0), min(along, height))
            end = (min(along, width), max(along - width, 0))
            x0, x1 = (start[0], end[0]) if lean > 0 else (width - start[0], width - end[0])
            strokes.append(f"M{_n(x + x0)} {_n(y + start[1])}L{_n(x + x1)} {_n(y + end[1])}")
            along += self.sheet.hatch
        self.path("".join(strokes), thick=self.sheet.hair, fill="#fff", css_class=css_class)

    def _add(self, mark):
        self._marks.append(mark)


def _n(value) -> str:
    return f"{float(value):.2f}".rstrip("0").rstrip(".")


def _stroke(thick, dash=None):
    if not thick:
        return ' stroke="none"'
    return f' stroke="currentColor" stroke-width="{_n(thick)}"' + (
        f' stroke-dasharray="{dash}" stroke-linecap="round"' if dash else ""
    )


def _class(css_class):
    return f' class="{css_class}"' if css_class else ""
