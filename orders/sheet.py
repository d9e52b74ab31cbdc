"""A revision as its page shows it: its constants in the order of the book, beside those of the revision in force."""

from calc import book
from calc.system import System


def sheet(*, system: System, in_force: System | None = None, form=None):
    """The parts of the book, each with its rows; `in_force` marks what differs, `form` brings fields to type in."""
    changed = {each.key for each in book.differing(system, in_force)} if in_force else set()
    return [
        _part(part, title, system=system, in_force=in_force, form=form, changed=changed)
        for part, title in book.PARTS.items()
    ]


def _part(part, title, *, system, in_force, form, changed):
    rows = {}
    for constant in book.constants():
        if constant.part == part:
            cell = _cell(constant, system=system, in_force=in_force, form=form, changed=constant.key in changed)
            row = rows.setdefault(constant.name, {"constant": constant, "cells": []})
            row["cells"].append(cell)
    for row in rows.values():
        row["by_width"] = len(row["cells"]) > 1
        row["changed"] = any(cell["changed"] for cell in row["cells"])
        row["errors"] = [cell for cell in row["cells"] if cell["field"] is not None and cell["field"].errors]
    by_width = any(row["by_width"] for row in rows.values())
    return {"key": part, "title": title, "rows": list(rows.values()), "by_width": by_width}


def _cell(constant, *, system, in_force, form, changed):
    return {
        "vane_width_mm": constant.vane_width_mm,
        "value": book.shown(book.value_of(system, constant.key)) or "none",
        "was": (book.shown(book.value_of(in_force, constant.key)) or "none") if changed else "",
        "changed": changed,
        "field": form[form.name_of(constant)] if form else None,
    }


def changes(*, system: System, in_force: System | None):
    """Each constant in which `system` differs from the one in force: its words, unit, old value and new one."""
    if in_force is None:
        return []
    rows = [
        {
            "words": _words(constant),
            "unit": constant.unit,
            "was": book.shown(book.value_of(in_force, constant.key)) or "none",
            "value": book.shown(book.value_of(system, constant.key)) or "none",
        }
        for constant in book.differing(system, in_force)
    ]
    if system.source != in_force.source:
        rows.append({"words": "Source", "unit": "", "was": in_force.source, "value": system.source})
    return rows


def _words(constant):
    return f"{constant.words}, {constant.vane_width_mm} mm vanes" if constant.vane_width_mm else constant.words
