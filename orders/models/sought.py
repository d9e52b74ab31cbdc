"""The column that a row is found by: kept in step with what it is made from, whoever writes the row."""

from django.db import models

from orders import search


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


@SoughtField.register_lookup
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
        super().save(*args, update_fields=update_fields, **options)


class SoughtQuerySet(models.QuerySet):
    """Writes `sought` along where many rows are saved, and refuses to write past it."""

    def bulk_update(self, objs, fields, **options):
        field = self.model._meta.get_field("sought")
        if not field.is_made_from(fields):
            return super().bulk_update(objs, fields, **options)
        objs = list(objs)
        for each in objs:
            field.pre_save(each, add=False)
        return super().bulk_update(objs, [*fields, field.name], **options)

    def update(self, **values):
        if self.model._meta.get_field("sought").is_made_from(values) and "sought" not in values:
            raise TypeError(
                f"What {self.model.__name__} is found by is worked out as it is saved. Save or bulk_update."
            )
        return super().update(**values)


def holding(unit):
    """The condition on a row's own `sought` that it holds `unit`."""
    wanted = models.Q()
    for needle in unit.needles:
        wanted |= models.Q(sought__holds=needle)
    return wanted
