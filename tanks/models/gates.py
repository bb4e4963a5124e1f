"""What must be shown before a layout passes on: thresholds and the steps of a start-up, as data."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Period, ShowroomRow


class GateThreshold(Period):
    """A number that a gate asks for, where this showroom wants another one than the default."""

    key = models.SlugField(max_length=40)
    number = models.FloatField()
    reason = models.CharField(max_length=200, blank=True)
    made_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")

    class Meta(Period.Meta):
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.UniqueConstraint(
                fields=["showroom", "key"],
                condition=Q(to_at__isnull=True),
                name="one_open_threshold_per_key",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key}: {self.number}"


class StartUpStep(ShowroomRow):
    """One line of a start-up regime, to copy and edit per layout; no layout: the showroom's own.

    Passed on by day *and* condition: the program proposes, a person accepts (``accepted_at``).
    """

    layout = models.ForeignKey(
        "tanks.Layout",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="start_up_steps",
    )
    order = models.PositiveSmallIntegerField()
    from_day = models.PositiveIntegerField()
    to_day = models.PositiveIntegerField(null=True, blank=True)
    change_percent = models.PositiveSmallIntegerField()
    changes_per_week = models.FloatField()
    dose_permille = models.PositiveIntegerField()
    light_minutes = models.PositiveIntegerField()
    tests_on_days = models.JSONField(default=list, blank=True)
    watch = models.CharField(max_length=200, blank=True)
    accepted_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "layout", "order"],
                condition=Q(layout__isnull=False),
                name="one_start_up_step_per_layout_and_order",
            ),
            models.UniqueConstraint(
                fields=["showroom", "order"],
                condition=Q(layout__isnull=True),
                name="one_start_up_step_per_order",
            ),
            models.CheckConstraint(
                condition=Q(to_day__isnull=True) | Q(to_day__gte=F("from_day")),
                name="a_start_up_step_ends_after_it_begins",
                violation_error_message=_("Last day: not before the first."),
            ),
            models.CheckConstraint(
                condition=Q(change_percent__lte=100, dose_permille__lte=2000),
                name="a_start_up_step_stays_in_bounds",
            ),
        ]
        ordering: ClassVar[list[Any]] = ["order"]

    def __str__(self) -> str:
        return f"day {self.from_day}"
