"""An emergency: the card that was opened, where, and what was done at which second.

Each tap is a fact. What the row of an incident says of its beginning, its place and its end is a
conclusion from its taps (:mod:`maintenance.schedule.incident`), so that they may come in any order.
"""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, Named, ShowroomRow
from tanks.models import Room, Tank


class Place(models.TextChoices):
    """How much of the gallery is meant."""

    TANK = "tank", _("one tank")
    ROOM = "room", _("one room")
    GALLERY = "gallery", _("the whole gallery")


class Incident(Named, ShowroomRow):
    """One emergency: the card, where, from when to when, and who decided that it is over."""

    card = models.CharField(max_length=20)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents"
    )
    room = models.ForeignKey(
        Room, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents"
    )
    stops = models.CharField(
        max_length=8,
        blank=True,
        choices=Place.choices,
        help_text=_("Where giving, feeding and routine tasks rest; empty: nowhere"),
    )
    is_drill = models.BooleanField(default=False)
    was_nothing = models.BooleanField(default=False)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    decided_by = models.CharField(
        max_length=120, blank=True, help_text=_("Who decided that it is over, by name")
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) | Q(closed_at__gte=F("opened_at")),
                name="an_incident_ends_after_it_began",
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) | Q(was_nothing=True) | ~Q(decided_by=""),
                name="somebody_decided_that_it_is_over",
                violation_error_message=_("Write the name of who decided that it is over."),
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(
                fields=["showroom", "tank"],
                condition=Q(closed_at__isnull=True),
                name="incidents_open",
            )
        ]

    def __str__(self) -> str:
        return f"{self.card} {self.opened_at:%Y-%m-%d %H:%M}"


class IncidentStep(Fact):
    """One tap of an incident with its second: a line done, a number rung, a word written."""

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="steps")
    kind = models.CharField(
        max_length=8,
        choices=[
            ("opened", _("card opened")),
            ("joined", _("joined")),
            ("place", _("place said")),
            ("done", _("line done")),
            ("out", _("somebody is out")),
            ("rung", _("rung")),
            ("wrote", _("written")),
            ("nothing", _("it was nothing")),
            ("over", _("it is over")),
        ],
    )
    line = models.PositiveSmallIntegerField(null=True, blank=True)
    text = models.CharField(max_length=300, blank=True)
    place = models.CharField(max_length=8, blank=True, choices=Place.choices)
    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    room = models.ForeignKey(
        Room, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_incident_step_per_action",
            )
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["incident", "done_at_corrected"], name="steps_of_incident")
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.line or ''}".strip()
