"""The catalogue, to read: hardware systems with the constants in force, and the fabrics on offer."""

from dataclasses import fields
from typing import get_type_hints

from django.shortcuts import render

from calc.system import System, VaneParts
from orders.lines import current_revisions
from orders.models import Fabric, HardwareSystem
from orders.roles import ADMINISTRATOR, MANAGER, SALES, role_required

UNITS = (("_kg_per_m", "kg/m"), ("_mm", "mm"), ("_kg", "kg"), ("_g", "g"))
# Said at the head of a system rather than in its table, or in the table of the parts by vane width.
APART = ("code", "revision", "source", "vane_89", "vane_127")


@role_required(SALES, MANAGER, ADMINISTRATOR)
def catalogue(request):
    revisions = current_revisions()
    systems = [sheet(each, revisions.get(each.pk)) for each in HardwareSystem.objects.by_name()]
    return render(request, "catalogue.html", {"systems": systems, "fabrics": Fabric.objects.in_catalogue_order()})


def sheet(system, revision):
    """One system as its page shows it: every constant with its value, unit and meaning."""
    if revision is None:
        return {"system": system, "revision": None}
    constants, meanings = revision.constants, meanings_of(System) | meanings_of(VaneParts)
    plain = [constant(each.name, constants, meanings) for each in fields(System) if each.name not in APART]
    by_width = [
        constant(each.name, constants["vane_89"], meanings) | {"other": shown(constants["vane_127"][each.name])}
        for each in fields(VaneParts)
    ]
    return {"system": system, "revision": revision, "source": constants["source"], "plain": plain, "by_width": by_width}


def meanings_of(kind):
    """What each constant means, as its definition says it."""
    hints = get_type_hints(kind, include_extras=True)
    return {each.name: hints[each.name].__metadata__[0] for each in fields(kind)}


def constant(name, constants, meanings):
    ending, unit = next(((ending, unit) for ending, unit in UNITS if name.endswith(ending)), ("", ""))
    words = name.removesuffix(ending).replace("_", " ").capitalize()
    return {"name": words, "value": shown(constants[name]), "unit": unit, "means": meanings[name]}


def shown(value):
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return "none" if value is None else value
