"""The column that a row is found by: kept in step with what it is made from, whoever writes the row."""

from django.db import connections, models, transaction

from orders import search

AT_ONCE = 500


class SoughtField(models.TextField):
    """What `search.written` makes of the row's own `texts` and `phones`, worked out anew at each save."""

    def __init__(self, *args, texts=(), phones=(), **options):
        self.texts, self.phones = texts, phones
        super().__init__(*args, **{"default": "", "editable": False, **options})

    def deconstruct(self):
        name, _, args, options = super().deconstruct()
        return name, "django.db.models.TextField", args, options

    def is_made_from(self, names):
        return bool({*self.texts, *self.phones}.intersection(names))

    def pre_save(self, instance, add):
        told = search.written(
            *(getattr(instance, name) for name in self.texts),
            phones=tuple(getattr(instance, name) for name in self.phones),
        )
        setattr(instance, self.attname, told)
        return told


@models.TextField.register_lookup
class Holds(models.Lookup):
    """`sought__holds="arlow"`: to the letter, so that nothing typed is a pattern, and quicker than LIKE."""

    lookup_name = "holds"

    def as_sql(self, compiler, connection, function="STRPOS"):
        held, held_values = self.process_lhs(compiler, connection)
        needle, needle_values = self.process_rhs(compiler, connection)
        return f"{function}({held}, {needle}) > 0", (*held_values, *needle_values)

    def as_sqlite(self, compiler, connection):
        return self.as_sql(compiler, connection, function="INSTR")


class KeepsSought(models.Model):
    """Writes `sought` along where only some fields are saved."""

    class Meta:
        abstract = True

    def save(self, *args, update_fields=None, **options):
        field = self._meta.get_field("sought")
        if update_fields is not None and field.is_made_from(update_fields):
            update_fields = [*update_fields, field.name]
        new = self._state.adding
        with transaction.atomic(savepoint=False):
            super().save(*args, update_fields=update_fields, **options)
            if update_fields is None or field.name in update_fields:
                self.note_sought([self], new=new)

    @classmethod
    def note_sought(cls, rows, *, new):
        """Keep what the rows are found by, whose `sought` was just written; `new` ones have nothing yet."""
        keep_endings(rows, new=new)


class SoughtQuerySet(models.QuerySet):
    """Writes `sought` along where many rows are saved, and refuses to write past it."""

    @transaction.atomic(savepoint=False)
    def bulk_create(self, objs, *args, **options):
        made = super().bulk_create(objs, *args, **options)
        self.model.note_sought(made, new=True)
        return made

    def insert(self, rows):
        """Add unsaved `rows` by one prepared statement, in a fourth of bulk_create's time; they are given no keys."""
        if not rows:
            return
        connection = connections[self.db]
        fields = [each for each in self.model._meta.local_concrete_fields if not each.primary_key]
        names = ", ".join(connection.ops.quote_name(each.column) for each in fields)
        places = ", ".join(["%s"] * len(fields))
        table = connection.ops.quote_name(self.model._meta.db_table)
        values = zip(*[_prepared(each, rows, connection) for each in fields], strict=True)
        with connection.cursor() as cursor:
            # Names of our own models alone; each value is a parameter.
            cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({places})", list(values))  # noqa: S608
        self.model.note_sought(rows, new=True)

    @transaction.atomic(savepoint=False)
    def bulk_update(self, objs, fields, **options):
        field = self.model._meta.get_field("sought")
        if not field.is_made_from(fields):
            return super().bulk_update(objs, fields, **options)
        objs = list(objs)
        for each in objs:
            field.pre_save(each, add=False)
        updated = super().bulk_update(objs, [*fields, field.name], **options)
        self.model.note_sought(objs, new=False)
        return updated

    def update(self, **values):
        if self.model._meta.get_field("sought").is_made_from(values) and "sought" not in values:
            raise TypeError(
                f"What {self.model.__name__} is found by is worked out as it is saved. Save or bulk_update."
            )
        return super().update(**values)


def _prepared(field, rows, connection):
    """What each row's `field` is in the database; worked out once for equal values, of which a column has few."""
    known, found = {}, []
    for row in rows:
        value = field.pre_save(row, add=True)
        if value.__hash__ is None:
            found.append(field.get_db_prep_save(value, connection))
            continue
        if value not in known:
            known[value] = field.get_db_prep_save(value, connection)
        found.append(known[value])
    return found


def keep_endings(rows, *, new):
    """Write the endings of the words that these rows, all of one model, are found by."""
    if rows:
        type(rows[0]).endings.rel.related_model.objects.write(rows, new=new)


def holding(unit, *, of=""):
    """The condition on a row's own `sought`, or on that of what it has as `of`, that it holds `unit`."""
    wanted = models.Q()
    for needle in unit.needles:
        wanted |= models.Q((f"{of}sought__holds", needle))
    return wanted


class RoomNameQuerySet(models.QuerySet):
    def keep(self, names):
        """Add those of `names` that are not there yet. Two desks may add one twice, and neither waits for the other."""
        wanted = sorted(names - {""})
        for start in range(0, len(wanted), AT_ONCE):
            batch = wanted[start : start + AT_ONCE]
            there = set(self.filter(sought__in=batch).values_list("sought", flat=True))
            made = self.bulk_create(RoomName(sought=name) for name in batch if name not in there)
            keep_endings(made, new=True)


class RoomName(models.Model):
    """What the rooms of all lines are found by, each once: a few names stand for a great many lines."""

    sought = models.TextField(db_index=True)

    objects = RoomNameQuerySet.as_manager()

    def __str__(self):
        return self.sought
