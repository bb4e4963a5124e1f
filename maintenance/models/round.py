"""Rounds and their stops: one zone, one business day, one kind; in walking order."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Named, ShowroomRow
from tanks.models import Position, Room, Tank, Zone


class RoundKind(models.TextChoices):
    """When in the day."""

    OPENING = "opening", _("opening")
    MIDDAY = "midday", _("midday")
    CLOSING = "closing", _("closing")


class Round(Named, ShowroomRow):
    """A walk through one zone."""

    code = models.CharField(max_length=8)
    business_on = models.DateField()
    kind = models.CharField(max_length=8, choices=RoundKind.choices)
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="rounds")
    person = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    opened_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "business_on", "kind", "zone"],
                name="one_round_per_zone_and_day",
            ),
            models.UniqueConstraint(fields=["showroom", "code"], name="one_round_per_code"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.zone} {self.business_on}"


class Stop(Named, ShowroomRow):
    """A place of the round: a tank's place, with the tank that stood there when the round was made,
    or a room, where doors, valves and air are looked at.
    """

    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="stops")
    position = models.ForeignKey(
        Position, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    room = models.ForeignKey(
        Room, on_delete=models.PROTECT, null=True, blank=True, related_name="stops"
    )
    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="stops"
    )
    order = models.PositiveIntegerField()
    left_open_reason = models.CharField(max_length=500, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["round", "position"], name="one_stop_per_place_of_a_round"
            ),
            models.UniqueConstraint(fields=["round", "room"], name="one_stop_per_room_of_a_round"),
            models.CheckConstraint(
                condition=Q(position__isnull=False, room__isnull=True)
                | Q(position__isnull=True, room__isnull=False, tank__isnull=True),
                name="stop_is_a_place_or_a_room",
            ),
        ]
        ordering: ClassVar[list[Any]] = ["order"]

    def __str__(self) -> str:
        return f"{self.round}, stop {self.order}"
