import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("orders", "0005_people_sign_in_at_tablets_and_promises_are_doubted")]

    operations = [
        migrations.CreateModel(
            name="PromiseLook",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField()),
                ("doubt", models.CharField(max_length=200)),
                ("was", models.DateField()),
                ("due_on", models.DateField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="promise_looks", to="orders.order"
                    ),
                ),
            ],
        ),
    ]
