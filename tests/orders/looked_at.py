"""What the tests of customers' files share: a catalogue, and a file looked at."""

import datetime as dt

from orders.importing.layout import layout_of
from orders.importing.preview import preview_of
from orders.importing.reading import read
from tests import factories

TODAY = dt.date(2026, 3, 4)


def catalogue():
    """A system; one fabric in both vane widths, and one with a name that is no ASCII."""
    factories.system()
    factories.fabric(89)
    factories.fabric(127)
    factories.fabric(89, code="tilleul-89", name="Tilleul", colour="blé foncé")


def looked(content, *, remembered=None, market="en13120", **choices):
    remembered = remembered or {}
    tables = read(content, known=frozenset(remembered))
    layout = layout_of(tables, choices=choices, remembered=remembered)
    return preview_of(layout, usual=choices.get("usual", {}), market=market, today=TODAY)


def problems(preview):
    return [str(each) for each in preview.problems]


def lines(preview):
    """Room, quantity, basis, width, drop and hand of each row that can be taken."""
    return [
        (line.room, line.quantity, line.size_basis, line.width_mm, line.drop_mm, line.hand)
        for line in (each.line for each in preview.rows)
    ]
