"""What was seen of stock other than by weighing: by eye, by gauge, by a feeder's portion."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact
from inventory.models.container import Container
from inventory.models.item import Item
from tanks.models import Tank


class EyeCount(Fact):
    """A level read by eye in quarters: worth plus or minus an eighth of a full container.

    ``counts`` is False when it was read within seven days after a weighing, which it never
    overrides. It posts no movement: it only teaches the projection.
    """

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="eye_counts")
    quarters = models.PositiveSmallIntegerField()
    net_base = models.BigIntegerField()
    expected_base = models.BigIntegerField()
    counts = models.BooleanField(default=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(quarters__gte=0, quarters__lte=4),
                name="an_eye_reads_0_to_4_quarters",
                violation_error_message=_("By eye: empty, one, two, three quarters or full."),
            ),
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_eye_count_per_action",
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["container", "-done_at_corrected"], name="eye_counts_lately")
        ]

    def __str__(self) -> str:
        return f"{self.container}: {self.quarters}/4"


class PressureReading(Fact):
    """A cylinder's gauge. Liquid and gas together: it tells little until a quarter is left."""

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="pressures")
    pressure_kpa = models.PositiveIntegerField()
    temperature_mdegc = models.IntegerField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(pressure_kpa__lte=25_000),
                name="pressure_is_at_most_250_bar",
                violation_error_message=_("Pressure: 0 to 250 bar."),
            ),
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_pressure_per_action",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.container}: {self.pressure_kpa} kPa"


class FeederCalibration(Fact):
    """Portions of a feeder weighed: what one portion gives from that moment on."""

    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, related_name="feeder_calibrations")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="feeder_calibrations")
    portions = models.PositiveIntegerField()
    mass_mg = models.PositiveBigIntegerField()
    mg_per_portion = models.PositiveIntegerField()

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(portions__gte=5, portions__lte=200),
                name="feeder_calibration_has_5_to_200_portions",
                violation_error_message=_("Portions weighed: 5 to 200; 20 is usual."),
            ),
            models.CheckConstraint(
                condition=Q(mg_per_portion__gte=1, mg_per_portion__lte=20_000),
                name="a_portion_is_1_mg_to_20_g",
                violation_error_message=_("One portion gives 0.001 to 20 g: weigh again."),
            ),
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_feeder_calibration_per_action",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tank}: {self.mg_per_portion} mg a portion"


class WhatWasFound(models.TextChoices):
    """What a person found when stock did not go as expected."""

    ALL_RIGHT = "all_right", _("weighed again, all right")
    LEAK = "leak", _("a leak, or a valve left open")
    SPILLED = "spilled", _("spilled, or drawn for something else")
    WRONG_READING = "wrong_reading", _("a wrong reading, or another bottle")
    REFILLED = "refilled", _("refilled without a note")
    BOOKED_LATE = "booked_late", _("booked late")
    WRONG_PRESS = "wrong_press", _("the pump gives another amount")
    UNKNOWN = "unknown", _("nothing found")


class StockFinding(Fact):
    """The answer of a person to "why is it not as expected?", for a stretch of days.

    From then on the projection takes the stretch as explained. ``amount_base`` is what went beside
    the plan, if it is known.
    """

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="findings")
    what = models.CharField(max_length=14, choices=WhatWasFound.choices)
    from_on = models.DateField()
    to_on = models.DateField(null=True, blank=True, help_text=_("First day no longer touched"))
    amount_base = models.BigIntegerField(null=True, blank=True)
    words = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(what__in=WhatWasFound.values), name="what_was_found_is_known"
            ),
            models.CheckConstraint(
                condition=Q(to_on__isnull=True) | Q(to_on__gt=models.F("from_on")),
                name="finding_ends_after_it_begins",
                violation_error_message=_("The last day lies before the first: correct one."),
            ),
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_finding_per_action",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.container}: {self.what} from {self.from_on}"
