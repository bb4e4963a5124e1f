"""A movement may say how well its amount is known."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0011_stock_lines_ask_why"),
    ]

    operations = [
        migrations.AddField(
            model_name="movement",
            name="sd_base",
            field=models.PositiveBigIntegerField(
                blank=True,
                help_text="How well the amount is known (standard deviation); empty: as usual",
                null=True,
            ),
        ),
    ]
