"""The kinds of fault that a workshop begins with; it edits them as it likes. Common practice, no source."""

from django.db import migrations

FIRST = (
    ("wrong_size", "Wrong size"),
    ("wrong_hand", "Wrong hand or draw"),
    ("wrong_count", "Wrong carrier count"),
    ("rail_damaged", "Rail or rod damaged"),
    ("stiff", "Stiff to draw or tilt"),
    ("cord_route", "Cord threaded wrongly"),
    ("loop_length", "Loop of the wrong length"),
    ("device_missing", "Safety device or tag missing"),
    ("fabric_fault", "Fabric marked or flawed"),
    ("wrong_fabric", "Wrong fabric or mixed dye lots"),
    ("vane_length", "Vanes of the wrong length"),
    ("parts_missing", "Parts missing"),
    ("instruction_missed", "Special instruction missed"),
    ("other", "Something else"),
)


def add(apps, schema_editor):
    kinds = apps.get_model("production", "FaultKind").objects.using(schema_editor.connection.alias)
    for position, (key, words) in enumerate(FIRST, start=1):
        kinds.get_or_create(key=key, defaults={"words": words, "position": position})


class Migration(migrations.Migration):
    dependencies = [("production", "0002_tablets_faults_and_remakes")]

    operations = [migrations.RunPython(add, migrations.RunPython.noop)]
