"""A migration only adds, so that the version before, which still runs for a while, reads and writes as it did.

DEVELOPERS.md, "When something breaks", has the rule; `BEFORE` are those of before there was a version to upgrade from.
"""

import re

import pytest
from django.db import migrations, models
from django.db.migrations.loader import MigrationLoader
from django.db.models import NOT_PROVIDED

BEFORE = {"orders": 21, "production": 10}
"""The numbers up to which a migration is of the first version."""
CONTRACTS = {}
"""What takes away or makes stricter: {(app, name): why nothing of the version before uses it}."""
ADDS = (migrations.CreateModel, migrations.AddIndex, migrations.RunPython, migrations.AlterModelOptions)


def narrows(operation):
    """Why the version before could not go on beside `operation`, or None."""
    if isinstance(operation, ADDS):
        return None
    if isinstance(operation, migrations.AddField):
        field = operation.field
        if field.null or field.db_default is not NOT_PROVIDED or field.many_to_many:
            return None
        return f"{operation.model_name}.{operation.name} is neither null nor has a default of the database's own"
    return f"{operation.describe()}: it takes away, renames or makes stricter"


def ours():
    for (app, name), migration in MigrationLoader(None, ignore_no_migrations=True).disk_migrations.items():
        if app in BEFORE and int(re.match(r"\d+", name)[0]) > BEFORE[app] and (app, name) not in CONTRACTS:
            yield migration


def test_each_migration_only_adds_or_says_what_no_longer_uses_what_it_takes():
    found = {f"{each}: {why}" for each in ours() for operation in each.operations if (why := narrows(operation))}
    assert found == set()


@pytest.mark.parametrize(
    ("operation", "is_narrow"),
    [
        (migrations.CreateModel("Truck", [("id", models.BigAutoField(primary_key=True))]), False),
        (migrations.AddField("order", "weight_kg", models.FloatField(null=True)), False),
        (migrations.AddField("order", "crates", models.IntegerField(db_default=1)), False),
        (migrations.AddField("order", "crates", models.IntegerField(default=1)), True),
        (migrations.AlterField("order", "note", models.CharField(max_length=10)), True),
        (migrations.RemoveField("order", "note"), True),
        (migrations.RenameField("order", "note", "remark"), True),
        (migrations.DeleteModel("Order"), True),
    ],
)
def test_what_only_adds_is_told_from_what_narrows(operation, is_narrow):
    assert bool(narrows(operation)) == is_narrow
