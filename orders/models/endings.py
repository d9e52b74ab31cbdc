"""Every word that something is found by, from each of its letters on: what is typed is the beginning of one of them, so
that an index finds the middle of a word too, and years of past cost nothing."""

from collections import defaultdict

from django.db import models
from django.db.models import Q
from django.db.models.functions import MD5, Concat

from orders.search import LONGEST_ENDING, MARK, endings

AT_ONCE = 500
LAST = "\U0010ffff"
"""No letter comes after it."""


@models.TextField.register_lookup
class Begins(models.Lookup):
    """`text__begins="marl"`, by an index on either database; what is looked for has letters, figures and gaps alone."""

    lookup_name = "begins"

    def as_sql(self, compiler, connection):
        text, values = self.process_lhs(compiler, connection)
        return f"{text} >= %s AND {text} < %s", (*values, self.rhs, *values, self.rhs + LAST)

    def as_postgresql(self, compiler, connection):
        text, values = self.process_lhs(compiler, connection)
        return f"{text} LIKE %s", (*values, f"{connection.ops.prep_for_like_query(self.rhs)}%")


class EndingQuerySet(models.QuerySet):
    def owners_holding(self, unit):
        """The keys of the owners whose `sought` holds what was typed as `unit`, some of them twice."""
        wanted = Q()
        for needle in unit.needles:
            begun = Q(text__begins=needle[:LONGEST_ENDING])
            wanted |= begun & Q(owner__sought__holds=needle) if len(needle) > LONGEST_ENDING else begun
        return self.filter(wanted).values("owner")

    def write(self, rows, *, new):
        """Keep what these rows, just saved, are found by; `new` rows have none yet."""
        known = defaultdict(dict)
        for batch in [] if new else _batches([row.pk for row in rows]):
            for pk, owner, text in self.filter(owner__in=batch).values_list("pk", "owner", "text"):
                known[owner][text] = pk
        wanted = {row.pk: endings(row.sought) for row in rows}
        gone = [pk for owner, had in known.items() for text, pk in had.items() if text not in wanted[owner]]
        for batch in _batches(gone):
            self.filter(pk__in=batch).delete()
        fresh = [
            self.model(owner_id=owner, text=text) for owner, texts in wanted.items() for text in texts - {*known[owner]}
        ]
        self.bulk_create(fresh, batch_size=AT_ONCE, ignore_conflicts=True)

    def make_good(self):
        """Write what a program of before, which knows no endings, left out beside this one during an upgrade."""
        mark = Concat(models.Value(MARK), MD5("sought"), output_field=models.TextField())
        kept = self.filter(owner=models.OuterRef("pk"), text=models.OuterRef("mark"))
        owners = self.model.owner.field.related_model.objects.exclude(sought="")
        left = owners.annotate(mark=mark).exclude(models.Exists(kept))
        for batch in _batches(list(left.values_list("pk", flat=True))):
            self.write(list(owners.filter(pk__in=batch)), new=False)


def _batches(keys):
    return [keys[start : start + AT_ONCE] for start in range(0, len(keys), AT_ONCE)]


class Ending(models.Model):
    """`text` begins at a letter of a word that its owner is found by, or at the gap before the word."""

    text = models.TextField()

    objects = EndingQuerySet.as_manager()

    class Meta:
        abstract = True
        constraints = [models.UniqueConstraint(fields=["owner", "text"], name="%(class)s_once")]
        # By its letters, whatever the database's language; the owner beside it, so that nothing else is read.
        indexes = [
            models.Index(fields=["text", "owner"], opclasses=["text_pattern_ops", "int8_ops"], name="%(class)s_by_text")
        ]

    def __str__(self):
        return self.text


def owned_by(name):
    """The owner's foreign key. Its rows are written and deleted with their owner alone: the database needs not look."""
    return models.ForeignKey(
        name, on_delete=models.CASCADE, related_name="endings", db_constraint=False, db_index=False
    )


class CustomerEnding(Ending):
    owner = owned_by("orders.Customer")


class OrderEnding(Ending):
    owner = owned_by("orders.Order")


class RoomEnding(Ending):
    owner = owned_by("orders.RoomName")
