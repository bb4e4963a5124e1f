"""Rooms get a name for programs, and the readings of their gas alarms a table."""

from uuid import uuid4

from django.db import migrations, models


def name_rooms(apps, schema_editor):
    """A name of its own for each room that stands."""
    room_model = apps.get_model("tanks", "Room")
    for pk in room_model.objects.filter(uid=None).values_list("pk", flat=True):
        room_model.objects.filter(pk=pk).update(uid=uuid4())


class Migration(migrations.Migration):

    dependencies = [
        ("tanks", "0002_air_of_a_room"),
    ]

    operations = [
        migrations.AddField(
            model_name="room",
            name="uid",
            field=models.UUIDField(null=True, editable=False),
        ),
        migrations.RunPython(name_rooms, migrations.RunPython.noop, elidable=True),
        migrations.AlterField(
            model_name="room",
            name="uid",
            field=models.UUIDField(default=uuid4, editable=False, unique=True),
        ),
    ]
