"""The catalogue, to read: hardware systems with the constants in force, and the fabrics on offer."""

from dataclasses import fields

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
    constants = revision.constants
    plain = [constant(each, constants[each.name]) for each in fields(System) if each.name not in APART]
    by_width = [
        constant(each, constants["vane_89"][each.name]) | {"other": shown(constants["vane_127"][each.name])}
        for each in fields(VaneParts)
    ]
    return {"system": system, "revision": revision, "source": constants["source"], "plain": plain, "by_width": by_width}


def constant(field, value):
    ending, unit = next(((e, u) for e, u in UNITS if field.name.endswith(e)), ("", ""))
    name = field.name.removesuffix(ending).replace("_", " ").capitalize()
    return {"name": name, "value": shown(value), "unit": unit, "means": field.metadata["means"]}


def shown(value):
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return "none" if value is None else value
