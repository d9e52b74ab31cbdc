from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0013_other_programs_ask_with_keys")]

    operations = [
        migrations.AddField(model_name=name, name="sought", field=models.TextField(default="", editable=False))
        for name in ("customer", "order", "orderline")
    ]
