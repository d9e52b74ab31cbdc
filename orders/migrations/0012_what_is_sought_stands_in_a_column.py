from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0011_blinds_may_be_taken_off_a_line")]

    operations = [
        migrations.AddField(model_name=name, name="sought", field=models.TextField(default="", editable=False))
        for name in ("customer", "order", "orderline")
    ]
