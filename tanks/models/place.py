"""Where a tank can stand: rooms, the zones of the walk, and positions in walking order."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, Named, ShowroomRow


class Room(Named, ShowroomRow):
    """A room of the gallery; its air volume decides what a gas cylinder in it can do."""

    name = models.CharField(max_length=80)
    volume_m3 = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("Air volume in cubic metres, as somebody measured it")
    )
    volume_measured_on = models.DateField(null=True, blank=True)
    volume_measured_by = models.CharField(max_length=80, blank=True)
    has_gas_alarm = models.BooleanField(null=True, blank=True)
    gas_alarm_tested_on = models.DateField(null=True, blank=True)
    walking_order = models.PositiveIntegerField(default=0)
    retired_at = models.DateTimeField(null=True, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "name"],
                condition=Q(voided_at__isnull=True),
                name="one_room_per_name",
                violation_error_message=_("A room of this name exists: choose another name."),
            ),
            models.CheckConstraint(
                condition=Q(volume_m3__isnull=True) | Q(volume_m3__gt=0),
                name="room_has_some_air",
                violation_error_message=_("A room holds more than 0 m3 of air: measure it."),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class RoomAirCheck(Fact):
    """Somebody read a room's gas alarm, or tested it: the figure it showed, and whether it rang."""

    room = models.ForeignKey(Room, on_delete=models.PROTECT, related_name="air_checks")
    co2_ppm = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("What the alarm showed; empty: no figure was read")
    )
    is_test = models.BooleanField(default=False)
    rang = models.BooleanField(
        null=True, blank=True, help_text=_("Whether it rang when it was tested")
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(co2_ppm__isnull=True) | Q(co2_ppm__gte=300, co2_ppm__lte=100_000),
                name="room_air_is_300_to_100000_ppm",
                violation_error_message=_("Room air: 300 to 100,000 ppm."),
            ),
            models.CheckConstraint(
                condition=Q(co2_ppm__isnull=False) | Q(rang__isnull=False),
                name="an_air_check_says_something",
                violation_error_message=_("Write the figure, or whether the alarm rang."),
            ),
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_air_check_per_action",
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["room", "-done_at_corrected"], name="air_checks_lately")
        ]

    def __str__(self) -> str:
        return f"{self.room}: {self.co2_ppm} ppm"


class Zone(ShowroomRow):
    """The part of the walk that one carer does. A zone is not a room."""

    code = models.CharField(max_length=8)
    walking_order = models.PositiveIntegerField(default=0)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "code"],
                condition=Q(voided_at__isnull=True),
                name="one_zone_per_code",
                violation_error_message=_("A zone of this letter exists: choose another."),
            )
        ]

    def __str__(self) -> str:
        return self.code


class Position(ShowroomRow):
    """A place where one tank can stand, and when it is passed on the walk."""

    room = models.ForeignKey(Room, on_delete=models.PROTECT, related_name="positions")
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="positions")
    name = models.CharField(max_length=80)
    walking_order = models.PositiveIntegerField()
    circuit = models.CharField(max_length=40, blank=True)
    viewing_sides = models.PositiveSmallIntegerField(default=1)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "room", "name"],
                condition=Q(voided_at__isnull=True),
                name="one_position_per_name_in_room",
                violation_error_message=_("This room has a place of that name: choose another."),
            ),
            models.CheckConstraint(
                condition=Q(viewing_sides__gte=1, viewing_sides__lte=4),
                name="position_is_seen_from_1_to_4_sides",
                violation_error_message=_("A place is seen from 1 to 4 sides."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.room}, {self.name}"
