"""Projections as they were made: thrown away and made again with the same result."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import ShowroomRow
from inventory.models.container import Container
from inventory.models.item import Item


class Forecast(ShowroomRow):
    """When a container, or all of an item, runs out: a range with its because.

    Quantiles are days after ``as_of_on`` (19 of them, 0.05 to 0.95). The newest per subject and day
    replaces an older one of the same day; those of earlier days stay, to be held against the truth.
    """

    container = models.ForeignKey(
        Container, on_delete=models.PROTECT, null=True, blank=True, related_name="forecasts"
    )
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="forecasts")
    as_of_on = models.DateField()
    made_at = models.DateTimeField()
    engine = models.CharField(max_length=40)
    digest = models.CharField(max_length=64)
    level_base = models.BigIntegerField()
    level_sd_base = models.BigIntegerField(default=0)
    measured_at = models.DateTimeField(null=True, blank=True)
    plan_base_per_day = models.BigIntegerField(default=0)
    quantiles_days = models.JSONField()
    plan_quantiles_days = models.JSONField(
        default=list, blank=True, help_text=_("The same from the plan alone, to be compared with")
    )
    made_from = models.JSONField(
        default=dict, blank=True, help_text=_("What it was made from, so that it can be made again")
    )
    finding = models.JSONField(
        default=dict, blank=True, help_text=_("What seems wrong: name, days, size, with ranges")
    )
    earliest_on = models.DateField(null=True, blank=True)
    likely_on = models.DateField(null=True, blank=True)
    latest_on = models.DateField(null=True, blank=True)
    order_by_on = models.DateField(null=True, blank=True)
    too_old_on = models.DateField(null=True, blank=True)
    alarm = models.CharField(
        max_length=12,
        choices=[
            ("none", _("none")),
            ("steady_loss", _("steady loss")),
            ("sudden_loss", _("sudden loss")),
        ],
        default="none",
    )
    because = models.JSONField(default=dict)
    is_current = models.BooleanField(default=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["container"],
                condition=Q(is_current=True, container__isnull=False),
                name="one_current_forecast_per_container",
            ),
            models.UniqueConstraint(
                fields=["item"],
                condition=Q(is_current=True, container__isnull=True),
                name="one_current_forecast_per_item",
            ),
            models.UniqueConstraint(
                fields=["container", "as_of_on"],
                condition=Q(container__isnull=False),
                name="one_forecast_per_container_and_day",
            ),
            models.UniqueConstraint(
                fields=["item", "as_of_on"],
                condition=Q(container__isnull=True),
                name="one_forecast_per_item_and_day",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.container or self.item}: likely {self.likely_on}"


class ForecastPart(ShowroomRow):
    """What one container adds to the projection of its item, and (container empty) the sum.

    After one tick only its container is projected again; the sum is brought up to date by the
    difference. Thrown away and made again each night. ``curves``: compressed float64, see
    :class:`inventory.forecast.pooled.Part`.
    """

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="forecast_parts")
    container = models.ForeignKey(
        Container, on_delete=models.CASCADE, null=True, blank=True, related_name="forecast_parts"
    )
    as_of_on = models.DateField()
    made_at = models.DateTimeField()
    curves = models.BinaryField()
    numbers = models.JSONField(default=dict)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["container"],
                condition=Q(container__isnull=False),
                name="one_forecast_part_per_container",
            ),
            models.UniqueConstraint(
                fields=["item"],
                condition=Q(container__isnull=True),
                name="one_forecast_sum_per_item",
            ),
        ]

    def __str__(self) -> str:
        return f"part of {self.item} on {self.as_of_on}"


class ForecastScore(ShowroomRow):
    """A projection held against what happened; made again with the same result.

    ``truth_days`` counts from the projection's ``as_of_on`` like its quantiles; empty when it could
    not be scored, and ``why_not`` says why. ``pit`` is the chance that the projection gave to
    something at or before the truth; the two CRPS are in days.
    """

    forecast = models.OneToOneField(Forecast, on_delete=models.PROTECT, related_name="score")
    scored_at = models.DateTimeField()
    truth = models.CharField(
        max_length=14,
        choices=[
            ("ran_out", _("it ran out")),
            ("still_left", _("it was left after the whole range")),
            ("not_scored", _("could not be scored")),
        ],
    )
    truth_on = models.DateField(null=True, blank=True)
    truth_days = models.FloatField(null=True, blank=True)
    pit = models.FloatField(null=True, blank=True)
    is_inside = models.BooleanField(null=True, blank=True)
    early_days = models.FloatField(
        null=True, blank=True, help_text=_("Likely day before the truth: positive; after: negative")
    )
    crps_days = models.FloatField(null=True, blank=True)
    plan_crps_days = models.FloatField(null=True, blank=True)
    why_not = models.CharField(max_length=40, blank=True)

    class Meta:
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["showroom", "-truth_on"], name="scores_lately")
        ]

    def __str__(self) -> str:
        return f"{self.forecast}: {self.truth}"
