import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("production", "0011_stages_are_found_by_when_they_came_to_stand_so"),
    ]

    operations = [
        migrations.CreateModel(
            name="HeldDay",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("on", models.DateField()),
                (
                    "blind",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="production.blind",
                    ),
                ),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("on", "blind"), name="a_day_held_once")],
            },
        ),
    ]
