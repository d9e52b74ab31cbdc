from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("orders", "0024_words_of_before_have_their_endings"),
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
