from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("production", "0003_first_kinds_of_fault")]

    operations = [
        migrations.AddField("tablet", "tries_until", models.DateTimeField(editable=False, null=True)),
    ]
