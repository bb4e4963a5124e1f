from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("kernel", "0001_initial"),
    ]

    operations = [
        migrations.CreateModel(
            name="EnrolmentTry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("address_hash", models.CharField(max_length=64)),
                ("at", models.DateTimeField()),
            ],
            options={
                "indexes": [
                    models.Index(fields=["at", "address_hash"], name="enrolment_tries_lately")
                ],
            },
        ),
    ]
