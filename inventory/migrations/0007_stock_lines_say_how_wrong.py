"""Each line of stock says how wrong its projections were."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0006_boxes'),
    ]

    operations = [
        migrations.AddField(
            model_name='stockline',
            name='early_days',
            field=models.FloatField(blank=True, help_text='Likely day before the truth, mean; after: negative', null=True),
        ),
        migrations.AddField(
            model_name='stockline',
            name='inside',
            field=models.PositiveIntegerField(default=0),
        ),
        migrations.AddField(
            model_name='stockline',
            name='scored',
            field=models.PositiveIntegerField(default=0, help_text='Projections of the item that met their truth within a year'),
        ),
    ]
