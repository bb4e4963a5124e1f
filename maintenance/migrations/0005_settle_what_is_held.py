from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("maintenance", "0004_one_observation_per_action"),
    ]

    operations = [
        migrations.AlterField(
            model_name="verdict",
            name="outcome",
            field=models.CharField(
                choices=[
                    ("accepted", "stored and counted"),
                    ("held", "needs a person"),
                    ("differs", "two versions, both kept"),
                    ("malformed", "cannot be read"),
                    ("withdrawn", "taken back before a person looked at it"),
                    ("noted", "kept as a note, not counted"),
                    ("refused", "a slip, not counted"),
                ],
                max_length=10,
            ),
        ),
        migrations.AddIndex(
            model_name="verdict",
            index=models.Index(
                condition=models.Q(("outcome", "accepted"), _negated=True),
                fields=["showroom", "at"],
                name="verdicts_not_accepted",
            ),
        ),
    ]
