from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("maintenance", "0003_verdict_may_be_withdrawn"),
    ]

    operations = [
        migrations.AddConstraint(
            model_name="observation",
            constraint=models.UniqueConstraint(
                condition=models.Q(("action_id__isnull", False)),
                fields=("showroom", "action_id", "key"),
                name="one_observation_per_action_and_key",
            ),
        ),
    ]
