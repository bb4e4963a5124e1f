"""A cylinder says by which rule its next test was set, and since when it is away."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("inventory", "0003_orders_measures_scores"),
    ]

    operations = [
        migrations.AddField(
            model_name="cylinderdetail",
            name="away_on",
            field=models.DateField(
                blank=True, help_text="With the supplier for a refill since then", null=True
            ),
        ),
        migrations.AddField(
            model_name="cylinderdetail",
            name="test_rule",
            field=models.CharField(
                blank=True, help_text="By which stated rule the next test was set", max_length=24
            ),
        ),
    ]
