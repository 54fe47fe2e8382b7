from django.db import migrations, models
from django.db.models import Q


def drop_half_breaks(apps, schema_editor):
    """A break with one end was never kept by the calendar: the shop worked through."""
    hours = apps.get_model('tickets', 'OpeningHours').objects
    hours.filter(Q(break_from__isnull=True) | Q(break_until__isnull=True)).update(
        break_from=None, break_until=None
    )


class Migration(migrations.Migration):

    dependencies = [
        ('tickets', '0005_open_rows'),
    ]

    operations = [
        migrations.RunPython(drop_half_breaks, migrations.RunPython.noop),
        migrations.RemoveConstraint(
            model_name='openinghours',
            name='break_within_opening',
        ),
        migrations.AddConstraint(
            model_name='openinghours',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('break_from__isnull', True), ('break_until__isnull', True)), models.Q(('break_from__gt', models.F('opens')), ('break_from__isnull', False), ('break_until__gt', models.F('break_from')), ('break_until__isnull', False), ('break_until__lt', models.F('closes'))), _connector='OR'), name='break_within_opening'),
        ),
    ]
