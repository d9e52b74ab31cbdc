"""The only writer of the kinds of fault: the workshop's own list of what goes wrong.

A kind is never removed, since events name it; one that is out of use keeps its words wherever it was recorded.
"""

from django.db import transaction
from django.db.models import Max
from django.utils.text import slugify

from orders import audit

from .models import FaultKind


class Refused(Exception):
    """What was asked for can't be done; the message says why and what to do."""


@transaction.atomic
def add(*, words) -> FaultKind:
    """A new kind at the end of the list. Raises Refused where its words stand on the list already."""
    words = _free(words)
    last = FaultKind.objects.aggregate(last=Max("position"))["last"] or 0
    made = FaultKind.objects.create(key=_free_key(words), words=words, position=last + 1)
    audit.did("faults", of=made, after={"words": words})
    return made


@transaction.atomic
def reword(*, kind, words) -> FaultKind:
    """Other words for the same fault; what was recorded before is told in them too."""
    before = audit.values(kind, "words")
    kind.words = _free(words, but=kind)
    kind.save(update_fields=["words"])
    audit.changed("faults", of=kind, before=before, after=audit.values(kind, "words"))
    return kind


@transaction.atomic
def move(*, kind, places):
    """Move a kind that is in use so many `places` down the list (up where negative), as far as the list goes."""
    kinds = list(FaultKind.objects.on_offer().select_for_update())
    old = kinds.index(kind)
    kinds.insert(min(max(old + places, 0), len(kinds) - 1), kinds.pop(old))
    for position, each in enumerate(kinds, start=1):
        each.position = position
    FaultKind.objects.bulk_update(kinds, ["position"])


@transaction.atomic
def take_out_of_use(*, kind, at):
    """Offer it no more. Raises Refused for the last one in use: without any, nothing could be sent back."""
    if not FaultKind.objects.on_offer().select_for_update().exclude(pk=kind.pk):
        raise Refused(f"“{kind}” is the only kind in use, and without one nothing can be sent back. Add another first.")
    kind.retired_at = at
    kind.save(update_fields=["retired_at"])
    audit.did("faults", of=kind, before={"in use": True}, after={"in use": False})


@transaction.atomic
def take_into_use(*, kind):
    """Offer it again, at the end of the list."""
    kind.retired_at = None
    kind.position = (FaultKind.objects.aggregate(last=Max("position"))["last"] or 0) + 1
    kind.save(update_fields=["retired_at", "position"])
    audit.did("faults", of=kind, before={"in use": False}, after={"in use": True})


def _free(words, *, but=None):
    words = " ".join(words.split())
    longest = FaultKind._meta.get_field("words").max_length
    if not 0 < len(words) <= longest:
        raise Refused(f"Write what is wrong in 1 to {longest} characters; got {len(words)}.")
    same = FaultKind.objects.filter(words__iexact=words).exclude(pk=but.pk if but else None).first()
    if same:
        where = "out of use; take it into use again" if same.retired_at else "on the list already; use that one"
        raise Refused(f"“{same}” is {where}.")
    return words


def _free_key(words):
    """A key from the words that no other kind has."""
    stem = slugify(words).replace("-", "_")[:26] or "fault"
    taken = set(FaultKind.objects.filter(key__startswith=stem).values_list("key", flat=True))
    return stem if stem not in taken else next(f"{stem}_{n}" for n in range(2, 999) if f"{stem}_{n}" not in taken)
