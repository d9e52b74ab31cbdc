from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("orders", "0025_people_may_have_a_second_step_at_sign_in"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="order",
            index=models.Index(
                condition=models.Q(("promise_doubted_at__isnull", False)),
                fields=["due_on", "number"],
                name="order_whose_promise_is_doubted",
            ),
        ),
    ]
