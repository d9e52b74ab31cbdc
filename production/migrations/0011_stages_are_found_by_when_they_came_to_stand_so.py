from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("production", "0010_what_broke_or_was_slow_is_written_down"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddIndex(
            model_name="stage",
            index=models.Index(fields=["station", "since"], name="stage_by_station_and_since"),
        ),
    ]
