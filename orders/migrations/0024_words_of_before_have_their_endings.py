from django.db import migrations

from orders.search import endings

AT_ONCE = 500
OWNERS = {"Customer": "CustomerEnding", "Order": "OrderEnding", "RoomName": "RoomEnding"}


def write_endings(apps, schema_editor):
    """Batch by batch along the primary key, so that a long list needs no more memory than a short one."""
    alias = schema_editor.connection.alias
    for owner, name in OWNERS.items():
        rows = apps.get_model("orders", owner).objects.using(alias).exclude(sought="").order_by("pk")
        made = apps.get_model("orders", name)
        last = 0
        while batch := list(rows.filter(pk__gt=last).values_list("pk", "sought")[:AT_ONCE]):
            last = batch[-1][0]
            pieces = (made(owner_id=pk, text=text) for pk, sought in batch for text in endings(sought))
            made.objects.using(alias).bulk_create(pieces, batch_size=AT_ONCE, ignore_conflicts=True)


class Migration(migrations.Migration):
    dependencies = [("orders", "0023_words_are_found_by_their_endings")]

    operations = [migrations.RunPython(write_endings, migrations.RunPython.noop)]
