"""The ledger: what was used, weighed and moved. Written once; a balance is always a sum."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import BASE_UNIT_LIMIT, Fact, ShowroomRow
from inventory.models.container import Container, SupplyPurpose
from inventory.models.item import Item, Lot
from inventory.models.plan import UsePlan
from tanks.models import Tank


class Scale(ShowroomRow):
    """A scale; two of them disagree, so each weighing names its own."""

    name = models.CharField(max_length=60)
    noise_sd_mg = models.PositiveIntegerField(default=1000)
    resolution_mg = models.PositiveIntegerField(default=1000)
    max_mg = models.PositiveBigIntegerField(null=True, blank=True)
    checked_on = models.DateField(
        null=True, blank=True, help_text=_("Last held against a known mass")
    )
    checked_off_mg = models.BigIntegerField(
        null=True, blank=True, help_text=_("What it showed then, less that mass")
    )
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "name"],
                condition=Q(voided_at__isnull=True),
                name="one_scale_per_name",
            )
        ]

    def __str__(self) -> str:
        return self.name


class Use(Fact):
    """Somebody gave a tank something, or planned to and gave nothing (a skip: 0 given)."""

    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, related_name="uses")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="uses")
    purpose = models.CharField(max_length=4, choices=SupplyPurpose.choices)
    container = models.ForeignKey(Container, on_delete=models.PROTECT, null=True, blank=True)
    plan = models.ForeignKey(UsePlan, on_delete=models.PROTECT, null=True, blank=True)
    business_on = models.DateField()
    planned_base = models.PositiveBigIntegerField()
    given_base = models.PositiveBigIntegerField()
    presses = models.PositiveIntegerField(null=True, blank=True)
    ul_per_press = models.PositiveIntegerField(null=True, blank=True)
    is_skip = models.BooleanField(default=False)
    answers = models.JSONField(default=dict, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "action_id", "item", "purpose"],
                condition=Q(action_id__isnull=False),
                name="one_use_per_action_and_item",
            ),
            models.CheckConstraint(
                condition=Q(is_skip=False) | Q(given_base=0), name="a_skip_gives_nothing"
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(
                fields=["showroom", "business_on", "tank", "purpose"], name="uses_of_the_day"
            ),
            models.Index(fields=["container", "business_on"], name="uses_of_container"),
        ]

    def __str__(self) -> str:
        return f"{self.tank} {self.purpose} {self.given_base}"


class Weighing(Fact):
    """A container on a scale: gross, and at that moment its tare and the regulator if it was on."""

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="weighings")
    scale = models.ForeignKey(Scale, on_delete=models.PROTECT, related_name="weighings")
    gross_mg = models.PositiveBigIntegerField()
    tare_mg = models.PositiveBigIntegerField()
    regulator_mg = models.PositiveBigIntegerField(default=0)
    density_mg_per_ml = models.PositiveIntegerField(default=1000)
    net_base = models.BigIntegerField()
    expected_base = models.BigIntegerField()

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(gross_mg__gte=F("tare_mg") + F("regulator_mg") - 20_000),
                name="weighing_not_below_empty",
                violation_error_message=_(
                    "The scale shows less than the empty container: check the tare, and "
                    "whether the regulator was on."
                ),
            ),
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_weighing_per_action",
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["container", "-done_at_corrected"], name="weighings_lately")
        ]

    def __str__(self) -> str:
        return f"{self.container}: {self.gross_mg} mg"


class PressCalibration(Fact):
    """Presses weighed: what one press of this pump gives from that moment on, never backwards."""

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="calibrations")
    presses = models.PositiveIntegerField()
    mass_mg = models.PositiveBigIntegerField()
    density_mg_per_ml = models.PositiveIntegerField()
    ul_per_press = models.PositiveIntegerField()

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(presses__gte=5, presses__lte=200),
                name="calibration_has_5_to_200_presses",
                violation_error_message=_("Presses weighed: 5 to 200; 20 is usual."),
            ),
            models.CheckConstraint(
                condition=Q(ul_per_press__gte=50, ul_per_press__lte=20_000),
                name="press_gives_0_05_to_20_ml",
                violation_error_message=_("One press gives 0.05 to 20 mL: weigh again."),
            ),
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_calibration_per_action",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.container}: {self.ul_per_press} uL a press"


class MovementKind(models.TextChoices):
    """Why stock moved."""

    RECEIPT = "receipt", _("receipt")
    USE = "use", _("use")
    MEASURED_USE = "measured_use", _("measured use")
    DECANT = "decant", _("decant")
    COUNT = "count", _("count")
    WASTE = "waste", _("waste")
    EXPIRY = "expiry", _("expiry")
    FOUND = "found", _("found")
    TRANSFER = "transfer", _("transfer")
    RETURN = "return", _("return")
    SALE = "sale", _("sale")


class Movement(Fact):
    """A signed amount of an item into or out of a container. Balance = sum, always.

    ``corrects`` names the movement that this one reverses.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="movements")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True)
    container = models.ForeignKey(
        Container, on_delete=models.PROTECT, null=True, blank=True, related_name="movements"
    )
    kind = models.CharField(max_length=12, choices=MovementKind.choices)
    amount_base = models.BigIntegerField()
    sd_base = models.PositiveBigIntegerField(
        null=True,
        blank=True,
        help_text=_("How well the amount is known (standard deviation); empty: as usual"),
    )
    use = models.ForeignKey(
        Use, on_delete=models.PROTECT, null=True, blank=True, related_name="movements"
    )
    weighing = models.ForeignKey(
        Weighing, on_delete=models.PROTECT, null=True, blank=True, related_name="movements"
    )
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(amount_base__gte=-BASE_UNIT_LIMIT, amount_base__lte=BASE_UNIT_LIMIT),
                name="movement_is_within_limits",
            ),
            models.CheckConstraint(
                condition=Q(kind__in=MovementKind.values), name="movement_kind_is_known"
            ),
            models.CheckConstraint(
                condition=~Q(kind="use") | Q(use__isnull=False), name="a_use_movement_names_its_use"
            ),
            models.UniqueConstraint(
                fields=["use"],
                condition=Q(kind="use"),
                name="one_movement_per_use",
                violation_error_message=_("This use has taken its stock already."),
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["container", "done_at_corrected"], name="movements_of_container"),
            models.Index(fields=["showroom", "item"], name="movements_of_item"),
            models.Index(fields=["item", "-done_at_corrected", "-id"], name="movements_lately"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.amount_base}"
