"""The only writer of hardware systems, their revisions, and fabrics."""

from dataclasses import replace

from django.db import IntegrityError, transaction

from calc.book import all_out_of_range
from calc.system import System, breaches
from orders import audit
from orders.models import Fabric, HardwareSystem, OrderLine, SystemRevision


class Refused(Exception):
    """What was asked for can't be done; `problems` says each reason with its values and the next step."""

    def __init__(self, problems):
        super().__init__(" ".join(problems))
        self.problems = problems


@transaction.atomic
def add_system(*, code, name, constants: System, by, at):
    """A new system with `constants` as the draft of its first revision. Raises Refused where the code is taken."""
    if HardwareSystem.objects.filter(code=code).exists():
        raise Refused([f"There is a system {code} already. Choose another code, or make a draft of that system."])
    _require_sane(constants)
    system = HardwareSystem.objects.create(code=code, name=name)
    _draft(system=system, number=1, constants=constants, by=by, at=at)
    audit.did("catalogue", of=system, words=f"added {system}", by=by)
    return system


@transaction.atomic
def new_draft(*, system: HardwareSystem, by, at):
    """A draft of the next revision, as a copy of the newest one. Raises Refused where there is a draft already."""
    newest = SystemRevision.objects.newest_of(system)
    return _next_draft(system=system, constants=newest.as_system(), by=by, at=at)


@transaction.atomic
def import_draft(*, system: HardwareSystem, constants: System, by, at):
    """A draft of the next revision with `constants`. Raises Refused where there is a draft or a value is senseless."""
    _require_sane(constants)
    return _next_draft(system=system, constants=constants, by=by, at=at)


def change_draft(*, revision: SystemRevision, seen: System, constants: System):
    """Give a draft other constants; `seen` are those that the change was made from.

    Raises Refused where it is no draft any more, or where somebody else changed it meanwhile: nothing is overwritten.
    """
    _require_sane(constants)
    kept = _named(constants, system=revision.system, number=revision.number).to_dict()
    with transaction.atomic():
        found = SystemRevision.objects.select_for_update().select_related("system").get(pk=revision.pk)
        _require_draft(found)
        if found.constants != seen.to_dict():
            raise Refused(
                [
                    f"{found} was changed by somebody else while you had it open, so nothing is overwritten. "
                    "Open it again in another window, compare, and enter your values there."
                ]
            )
        audit.changed("catalogue", of=found, before=found.constants, after=kept)
        found.constants = kept
        found.save(update_fields=["constants"])
    return found


@transaction.atomic
def publish(*, revision: SystemRevision, by, at):
    """Put a draft in force and retire the revision before it. Raises Refused with everything that is broken in it."""
    found = SystemRevision.objects.select_for_update().select_related("system").get(pk=revision.pk)
    _require_draft(found)
    problems = problems_of(found)
    if problems:
        raise Refused(problems)
    before = SystemRevision.objects.in_force().filter(system=found.system)
    before.update(state=SystemRevision.RETIRED, retired_by=by, retired_at=at)
    found.state, found.published_by, found.published_at = SystemRevision.PUBLISHED, by, at
    found.save(update_fields=["state", "published_by", "published_at"])
    audit.did("catalogue", of=found, words=f"put in force {found}", by=by)
    return found


def problems_of(revision: SystemRevision):
    """Every reason why `revision` can't be published: senseless values first, and without any, what is broken."""
    system = revision.as_system()
    return all_out_of_range(system) or breaches(system)


@transaction.atomic
def discard_draft(*, revision: SystemRevision):
    """Throw a draft away. A system's only revision goes with the system itself, since no line can use it yet."""
    found = SystemRevision.objects.select_for_update().select_related("system").get(pk=revision.pk)
    _require_draft(found)
    used = OrderLine.objects.with_system(found.system).exists()
    alone = not SystemRevision.objects.filter(system=found.system).exclude(pk=found.pk).exists()
    if alone and used:
        raise Refused([f"Lines of orders use {found.system}, and this draft is all that there is of it. Keep it."])
    audit.did("catalogue", of=found, words=f"discarded the draft of {found}", before=found.constants)
    found.delete()
    if alone:
        found.system.delete()


@transaction.atomic
def retire(*, system: HardwareSystem, by, at):
    """Take a system out of force: no revision is published then. Raises Refused where none is."""
    retired = (
        SystemRevision.objects.in_force()
        .filter(system=system)
        .update(state=SystemRevision.RETIRED, retired_by=by, retired_at=at)
    )
    if not retired:
        raise Refused([f"{system} has no published revision, so there is nothing to retire."])
    audit.did("catalogue", of=system, words=f"retired {system}", by=by)


def _next_draft(*, system, constants, by, at):
    there = SystemRevision.objects.drafts().filter(system=system).select_related("drafted_by").first()
    if there:
        who = f" by {there.drafted_by}" if there.drafted_by else ""
        raise Refused(
            [
                f"{system} has a draft already: revision {there.number}, drafted{who}. "
                "Edit that one, or discard it first; a system has one draft at a time."
            ]
        )
    newest = SystemRevision.objects.newest_of(system)
    return _draft(system=system, number=newest.number + 1 if newest else 1, constants=constants, by=by, at=at)


def _draft(*, system, number, constants, by, at):
    try:
        # In a transaction of its own, so that a refusal by the database leaves the outer one usable.
        with transaction.atomic():
            made = SystemRevision.objects.create(
                system=system,
                number=number,
                constants=_named(constants, system=system, number=number).to_dict(),
                drafted_by=by,
                drafted_at=at,
            )
            audit.did("catalogue", of=made, words=f"drafted {made}", by=by)
            return made
    except IntegrityError:
        raise Refused(
            [f"Somebody else has just made a draft of {system}. Open the system again and edit that one."]
        ) from None


def _named(constants: System, *, system, number):
    """`constants` under the system's own code and the revision's own number."""
    return replace(constants, code=system.code, revision=number)


def _require_draft(revision):
    if revision.state == SystemRevision.DRAFT:
        return
    raise Refused(
        [
            f"{revision} is {revision.get_state_display().lower()} and is never changed: released blinds were worked "
            "out with it. Make a new draft and change that."
        ]
    )


def _require_sane(constants: System):
    problems = all_out_of_range(constants)
    if problems:
        raise Refused(problems)


@transaction.atomic
def add_fabric(**fields):
    made = Fabric.objects.create(**fields)
    audit.did("catalogue", of=made, after=audit.values(made, *fields))
    return made


def change_fabric(*, fabric: Fabric, **fields):
    """Change a fabric. Raises Refused where lines use it and its vane width would change under them."""
    with transaction.atomic():
        held = Fabric.objects.select_for_update().get(pk=fabric.pk)
        width_mm = fields.get("vane_width_mm", held.vane_width_mm)
        uses = OrderLine.objects.made_of(held).count()
        if uses and width_mm != held.vane_width_mm:
            raise Refused(
                [
                    f"{held} is used by {uses} order line{'s' if uses > 1 else ''} and stays {held.vane_width_mm} mm. "
                    f"Add the {width_mm} mm roll as a fabric of its own."
                ]
            )
        before = audit.values(held, *fields)
        for name, value in fields.items():
            setattr(held, name, value)
        held.save(update_fields=list(fields))
        audit.changed("catalogue", of=held, before=before, after=audit.values(held, *fields))
    return held


@transaction.atomic
def offer_fabric(*, fabric: Fabric, offered):
    """Offer a fabric to sales, or stop offering it; lines that are made of it keep it."""
    if Fabric.objects.filter(pk=fabric.pk).exclude(offered=offered).update(offered=offered):
        audit.did("catalogue", of=fabric, before={"offered": not offered}, after={"offered": offered})


@transaction.atomic
def remove_fabric(*, fabric: Fabric):
    """Take a fabric off the list that no line was ever made of. Raises Refused where one was."""
    uses = OrderLine.objects.made_of(fabric).count()
    if uses:
        raise Refused(
            [
                f"{fabric} is used by {uses} order line{'s' if uses > 1 else ''}, so it can't be taken off the list. "
                "Stop offering it instead."
            ]
        )
    audit.did("catalogue", of=fabric, words=f"removed {fabric}")
    fabric.delete()
