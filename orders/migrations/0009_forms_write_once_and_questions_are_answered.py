import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("orders", "0008_steps_of_an_order_are_on_record"),
    ]

    operations = [
        migrations.CreateModel(
            name="SentForm",
            fields=[
                ("key", models.UUIDField(primary_key=True, serialize=False)),
                ("position", models.PositiveIntegerField(null=True)),
                ("at", models.DateTimeField(db_index=True)),
                (
                    "order",
                    models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name="+", to="orders.order"),
                ),
            ],
        ),
        migrations.CreateModel(
            name="SlipAnswer",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=20)),
                ("figures", models.CharField(max_length=300)),
                ("question", models.CharField(max_length=400)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "line",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="slip_answers",
                        to="orders.orderline",
                    ),
                ),
                (
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="slip_answers", to="orders.order"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("line__isnull", False)),
                        fields=("line", "code", "figures"),
                        name="line_slip_answered_once",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("line__isnull", True)),
                        fields=("order", "code", "figures"),
                        name="order_slip_answered_once",
                    ),
                ],
            },
        ),
    ]
