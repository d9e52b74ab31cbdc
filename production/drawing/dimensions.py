"""Dimension lines in rows, laid so that no label runs into another."""

from dataclasses import dataclass

from .pen import Label, Pen

GAP = 8


@dataclass(frozen=True, kw_only=True)
class Dimension:
    """A length from x0 to x1 with its label; `outside` says where the label goes if it does not fit between."""

    x0: float
    x1: float
    label: Label
    figure: str
    outside: str = "right"

    def label_left(self, sheet, *, low, high):
        """Where the label starts: between the arrows, else beside them, always on the sheet."""
        wide = self.label.width(sheet)
        if wide + 4 <= self.x1 - self.x0:
            return (self.x0 + self.x1 - wide) / 2
        reach = sheet.arrow * 2 + 3
        right, left = self.x1 + reach, self.x0 - reach - wide
        if self.outside == "right":
            return right if right + wide <= high else max(left, low)
        return left if left >= low else min(right, high - wide)

    def extent(self, sheet, *, low, high):
        left = self.label_left(sheet, low=low, high=high)
        tight = sheet.arrow * 2 if self.x1 - self.x0 < sheet.arrow * 3 else 0
        return min(left, self.x0 - tight), max(left + self.label.width(sheet), self.x1 + tight)


def rows_of(dimensions, sheet, *, low=0.0, high=None):
    """Deal `dimensions` into rows, nearest the part first; each goes into the first row where it has room."""
    high = sheet.width if high is None else high
    rows = []
    for dimension in dimensions:
        left, right = dimension.extent(sheet, low=low, high=high)
        for row in rows:
            if all(right + GAP <= a or left >= b + GAP for a, b, _ in row):
                row.append((left, right, dimension))
                break
        else:
            rows.append([(left, right, dimension)])
    return [[dimension for _, _, dimension in row] for row in rows]


def draw_rows(pen: Pen, rows, *, start, direction, part_edge, low=0.0, high=None):
    """Draw `rows` away from the part: `direction` -1 stacks them upward from `start`, +1 downward.

    Thin lines reach from `part_edge` to each dimension line. Returns the y where the rows end.
    """
    sheet = pen.sheet
    high = sheet.width if high is None else high
    lines = [start + direction * (place + (1 if direction > 0 else 0)) * sheet.row for place in range(len(rows))]
    if direction < 0:
        lines = [y - 2 for y in lines]
    for y, row in zip(lines, rows, strict=True):
        for dimension in row:
            for x in (dimension.x0, dimension.x1):
                pen.line(x, part_edge, x, y + direction * 3, thick=sheet.hair, css_class="reach")
    for y, row in zip(lines, rows, strict=True):
        for dimension in row:
            draw(pen, dimension, y=y, low=low, high=high)
    return start + direction * len(rows) * sheet.row


def draw(pen: Pen, dimension: Dimension, *, y, low, high):
    """One dimension line at height y, its label standing on it."""
    sheet = pen.sheet
    x0, x1 = dimension.x0, dimension.x1
    left = dimension.label_left(sheet, low=low, high=high)
    right = left + dimension.label.width(sheet)
    with pen.group("figure", figure=dimension.figure):
        tight = x1 - x0 < sheet.arrow * 3
        overhang = sheet.arrow * 2 if tight else 0
        pen.line(min(x0 - overhang, left), y, max(x1 + overhang, right), y, thick=sheet.hair)
        pen.arrow(x0, y, to=1 if tight else -1)
        pen.arrow(x1, y, to=-1 if tight else 1)
        pen.label(left, y - sheet.figure * 0.22, dimension.label)
        pen.rect(left, y - sheet.figure, right - left, sheet.figure * 1.2, thick=0, css_class="touch")
