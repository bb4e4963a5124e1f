"""The last movements of an item are found without sorting all."""

from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0009_forecast_parts'),
        ('kernel', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddIndex(
            model_name='movement',
            index=models.Index(fields=['item', '-done_at_corrected', '-id'], name='movements_lately'),
        ),
    ]
