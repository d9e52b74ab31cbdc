import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def entered(apps, schema_editor):
    """Of orders from before, it is known who entered them and when."""
    OrderStep = apps.get_model("orders", "OrderStep")
    orders = apps.get_model("orders", "Order").objects.values_list("pk", "entered_by", "entered_at")
    OrderStep.objects.bulk_create(
        OrderStep(order_id=order, state="draft", by_id=by, at=at) for order, by, at in orders.iterator()
    )


class Migration(migrations.Migration):

    dependencies = [
        ('orders', '0007_the_workshop_keeps_a_calendar_and_promises_are_on_record'),
    ]

    operations = [
        migrations.CreateModel(
            name='OrderStep',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('was', models.CharField(blank=True, max_length=10)),
                ('state', models.CharField(max_length=10)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('order', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='steps', to='orders.order')),
            ],
        ),
        migrations.RunPython(entered, migrations.RunPython.noop),
    ]
