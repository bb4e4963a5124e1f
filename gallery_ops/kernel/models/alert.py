"""Alerts: conclusions that ask for a person, once each while their cause stands."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models.base import Named, ShowroomRow


class HarmClass(models.TextChoices):
    """What is hurt when something is missed: the order of everything that waits."""

    A = "A", _("same day")
    B = "B", _("2-3 days")
    C = "C", _("a week")
    D = "D", _("cosmetic")


class Alert(Named, ShowroomRow):
    """Something that needs a person, with its because. Closes by itself when its cause is gone.

    ``because`` is a list of ``{"what": key, ...figures}`` that a page turns into sentences.
    """

    kind = models.CharField(max_length=40)
    cause_key = models.CharField(max_length=120)
    harm_class = models.CharField(max_length=1, choices=HarmClass.choices)
    subject_kind = models.CharField(max_length=40)
    subject_key = models.CharField(max_length=60)
    sentence = models.CharField(max_length=300)
    because = models.JSONField(default=list)
    order_by_on = models.DateField(null=True, blank=True)
    opened_at = models.DateTimeField()
    seen_again_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "cause_key"],
                condition=Q(closed_at__isnull=True),
                name="one_open_alert_per_cause",
            ),
            models.CheckConstraint(
                condition=Q(harm_class__in=HarmClass.values), name="alert_harm_class_is_known"
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(
                fields=["showroom", "closed_at", "harm_class"], name="alerts_open_by_class"
            )
        ]

    def __str__(self) -> str:
        return f"{self.harm_class} {self.sentence}"
