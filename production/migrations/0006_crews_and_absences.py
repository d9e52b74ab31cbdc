import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

STATIONS = [
    ("railing", "Railing"),
    ("vanes", "Vanes"),
    ("stringing", "Stringing"),
    ("checking", "Checking"),
    ("packing", "Packing"),
]
KEYS = [key for key, _ in STATIONS]


class Migration(migrations.Migration):
    dependencies = [
        ("production", "0005_changes_are_asked_for_after_the_release"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Crew",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("station", models.CharField(choices=STATIONS, max_length=10, unique=True)),
                ("people", models.PositiveSmallIntegerField()),
                ("minutes", models.PositiveSmallIntegerField(verbose_name="minutes a day")),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("station__in", KEYS)), name="crew_is_at_a_known_station"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("minutes__lte", 1440)), name="crew_works_at_most_a_day"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Absence",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("station", models.CharField(choices=STATIONS, max_length=10, verbose_name="missed at")),
                ("first_day", models.DateField(verbose_name="away from")),
                ("last_day", models.DateField(verbose_name="until")),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="absences",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("last_day__gte", models.F("first_day"))),
                        name="absence_ends_after_it_begins",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("station__in", KEYS)), name="absence_is_at_a_known_station"
                    ),
                ],
            },
        ),
    ]
