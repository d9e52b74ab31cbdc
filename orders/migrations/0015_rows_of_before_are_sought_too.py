from django.db import migrations

from orders.search import written

AT_ONCE = 1000
MADE_BY = {
    "Customer": lambda row: written(row.name, row.contact, row.email, phones=(row.phone,)),
    "Order": lambda row: written(row.reference),
    "OrderLine": lambda row: written(row.room),
}


def write_sought(apps, schema_editor):
    """Batch by batch along the primary key, so that a long list needs no more memory than a short one."""
    for name, made in MADE_BY.items():
        rows = apps.get_model("orders", name).objects.using(schema_editor.connection.alias).order_by("pk")
        last = 0
        while batch := list(rows.filter(pk__gt=last)[:AT_ONCE]):
            last = batch[-1].pk
            for row in batch:
                row.sought = made(row)
            rows.bulk_update([row for row in batch if row.sought], ["sought"])


class Migration(migrations.Migration):
    dependencies = [("orders", "0014_what_is_sought_stands_in_a_column")]

    operations = [migrations.RunPython(write_sought, migrations.RunPython.noop)]
