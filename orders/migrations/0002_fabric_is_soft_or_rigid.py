from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('orders', '0001_initial'),
    ]

    operations = [
        migrations.AddField(
            model_name='fabric',
            name='stiffness',
            field=models.CharField(choices=[('soft', 'Soft'), ('rigid', 'Rigid')], db_default='soft', default='soft', max_length=10),
        ),
        migrations.AlterField(
            model_name='fabric',
            name='vane_width_mm',
            field=models.PositiveIntegerField(choices=[(89, '89 mm'), (127, '127 mm')], verbose_name='vane width'),
        ),
        migrations.AlterField(
            model_name='fabric',
            name='weight_g_per_m2',
            field=models.PositiveIntegerField(verbose_name='weight'),
        ),
        migrations.AddConstraint(
            model_name='fabric',
            constraint=models.CheckConstraint(condition=models.Q(('stiffness__in', ['soft', 'rigid'])), name='fabric_stiffness_is_known'),
        ),
    ]
