from django.db import migrations

AT_ONCE = 1000


def write_names(apps, schema_editor):
    alias = schema_editor.connection.alias
    lines = apps.get_model("orders", "OrderLine").objects.using(alias).exclude(sought="")
    names = apps.get_model("orders", "RoomName")
    found = lines.order_by("sought").values_list("sought", flat=True).distinct()
    names.objects.using(alias).bulk_create((names(sought=each) for each in found.iterator()), batch_size=AT_ONCE)


class Migration(migrations.Migration):
    dependencies = [("orders", "0016_rooms_are_sought_by_their_names")]

    operations = [migrations.RunPython(write_names, migrations.RunPython.noop)]
