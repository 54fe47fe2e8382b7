from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('counter', '0004_under_way'),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name='notice',
            name='notice_told',
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(condition=models.Q(('sent_at__isnull', False)), fields=['sent_at'], name='notice_sent'),
        ),
    ]
