import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("orders", "0022_a_first_password_is_for_one_sign_in"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="customer",
            index=models.Index(fields=["name", "id"], name="customer_by_name"),
        ),
        migrations.CreateModel(
            name="CustomerEnding",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("text", models.TextField()),
                (
                    "owner",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="endings",
                        to="orders.customer",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "indexes": [
                    models.Index(
                        fields=["text", "owner"],
                        name="customerending_by_text",
                        opclasses=["text_pattern_ops", "int8_ops"],
                    )
                ],
                "constraints": [models.UniqueConstraint(fields=("owner", "text"), name="customerending_once")],
            },
        ),
        migrations.CreateModel(
            name="OrderEnding",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("text", models.TextField()),
                (
                    "owner",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="endings",
                        to="orders.order",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "indexes": [
                    models.Index(
                        fields=["text", "owner"], name="orderending_by_text", opclasses=["text_pattern_ops", "int8_ops"]
                    )
                ],
                "constraints": [models.UniqueConstraint(fields=("owner", "text"), name="orderending_once")],
            },
        ),
        migrations.CreateModel(
            name="RoomEnding",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("text", models.TextField()),
                (
                    "owner",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="endings",
                        to="orders.roomname",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "indexes": [
                    models.Index(
                        fields=["text", "owner"], name="roomending_by_text", opclasses=["text_pattern_ops", "int8_ops"]
                    )
                ],
                "constraints": [models.UniqueConstraint(fields=("owner", "text"), name="roomending_once")],
            },
        ),
    ]
