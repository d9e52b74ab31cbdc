import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('orders', '0002_fabric_is_soft_or_rigid'),
    ]

    operations = [
        migrations.AddField(
            model_name='systemrevision',
            name='drafted_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='systemrevision',
            name='drafted_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='systemrevision',
            name='published_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='systemrevision',
            name='retired_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='systemrevision',
            name='retired_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddConstraint(
            model_name='systemrevision',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'draft')), fields=('system',), name='one_draft_per_system'),
        ),
        migrations.AddConstraint(
            model_name='systemrevision',
            constraint=models.UniqueConstraint(condition=models.Q(('state', 'published')), fields=('system',), name='one_published_revision_per_system'),
        ),
    ]
