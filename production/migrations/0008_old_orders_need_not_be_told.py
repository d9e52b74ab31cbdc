"""Orders that had left before changes are counted are no news; the open ones are told all the same."""

from django.db import migrations, models


def begin_after_the_newest(apps, schema_editor):
    newest = apps.get_model("orders", "Order").objects.aggregate(newest=models.Max("number"))["newest"]
    if newest:
        counted, _ = apps.get_model("production", "ChangesCounted").objects.get_or_create(pk=1)
        counted.newest_order = newest
        counted.save()


class Migration(migrations.Migration):

    dependencies = [
        ("production", "0007_changes_of_orders_are_numbered"),
    ]

    operations = [
        migrations.AddField(
            model_name="changescounted",
            name="newest_order",
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddIndex(
            model_name="orderchange",
            index=models.Index(fields=["state"], name="change_by_state"),
        ),
        migrations.RunPython(begin_after_the_newest, migrations.RunPython.noop, elidable=True),
    ]
