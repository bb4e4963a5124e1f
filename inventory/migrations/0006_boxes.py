"""What is counted comes in boxes."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0005_stock_lines'),
    ]

    operations = [
        migrations.AlterField(
            model_name='container',
            name='kind',
            field=models.CharField(choices=[('bottle', 'bottle'), ('can', 'can'), ('tub', 'tub'), ('bag', 'bag'), ('box', 'box'), ('cylinder', 'cylinder')], max_length=8),
        ),
    ]
