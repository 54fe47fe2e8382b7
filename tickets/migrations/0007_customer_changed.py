import django.utils.timezone
from django.db import migrations, models
from django.db.models import F


def as_they_came(apps, schema_editor):
    """Nobody knows when a customer was changed so far; no list need send them all anew."""
    apps.get_model('tickets', 'Customer').objects.update(changed_at=F('created_at'))


class Migration(migrations.Migration):

    dependencies = [
        ('tickets', '0006_whole_breaks'),
    ]

    operations = [
        migrations.AddField(
            model_name='customer',
            name='changed_at',
            field=models.DateTimeField(auto_now=True, default=django.utils.timezone.now),
            preserve_default=False,
        ),
        migrations.AddIndex(
            model_name='customer',
            index=models.Index(fields=['changed_at'], name='customer_changed'),
        ),
        migrations.RunPython(as_they_came, migrations.RunPython.noop),
    ]
