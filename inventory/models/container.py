"""Where stock is: bottles, cans, tubs and cylinders, and which of them feeds which tank."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Period, ShowroomRow
from inventory.models.item import Item, Lot
from tanks.models import Room, Tank, Zone


class ContainerKind(models.TextChoices):
    """What holds the stock."""

    BOTTLE = "bottle", _("bottle")
    CAN = "can", _("can")
    TUB = "tub", _("tub")
    BAG = "bag", _("bag")
    BOX = "box", _("box")
    CYLINDER = "cylinder", _("cylinder")


class Container(ShowroomRow):
    """One bottle, can, tub or cylinder of one lot, with its own code and its own opened-on.

    Its level is the sum of its movements, never a column. ``press_nominal_ul`` is what the
    instruction takes one press of its pump to give; what it really gives is a calibration.
    """

    code = models.CharField(max_length=8)
    name = models.CharField(max_length=80, blank=True)
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="containers")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="containers")
    kind = models.CharField(max_length=8, choices=ContainerKind.choices)
    capacity_base = models.PositiveBigIntegerField()
    tare_mg = models.PositiveBigIntegerField(null=True, blank=True)
    unusable_base = models.PositiveBigIntegerField(default=0)
    press_nominal_ul = models.PositiveIntegerField(null=True, blank=True)
    room = models.ForeignKey(Room, on_delete=models.PROTECT, null=True, blank=True)
    place = models.CharField(max_length=80, blank=True, help_text=_("Shelf, plinth, recess"))
    decanted_from = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="decanted_into"
    )
    received_on = models.DateField(null=True, blank=True)
    opened_on = models.DateField(null=True, blank=True)
    finished_on = models.DateField(null=True, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "code"],
                condition=Q(voided_at__isnull=True),
                name="one_container_per_code",
                violation_error_message=_("Another container has this code."),
            ),
            models.CheckConstraint(
                condition=Q(capacity_base__gt=0),
                name="container_holds_something",
                violation_error_message=_("Capacity: more than 0."),
            ),
        ]

    def __str__(self) -> str:
        return self.name or f"{self.get_kind_display()} {self.code}"


class CylinderDetail(ShowroomRow):
    """What a gas cylinder carries beyond any container: serial, test stamp, regulator."""

    container = models.OneToOneField(Container, on_delete=models.PROTECT, related_name="cylinder")
    serial = models.CharField(max_length=40)
    fill_mg = models.PositiveBigIntegerField()
    tested_on = models.DateField(null=True, blank=True, help_text=_("From the stamp"))
    next_test_on = models.DateField(null=True, blank=True)
    regulator_mg = models.PositiveBigIntegerField(
        null=True, blank=True, help_text=_("Mass of the regulator that stays on when weighed")
    )
    is_exchange = models.BooleanField(default=True)
    stamp = models.CharField(max_length=40, blank=True, help_text=_("As read off the shoulder"))
    held_by = models.CharField(max_length=80, blank=True, help_text=_("Chain, strap, bracket"))
    is_marked_empty = models.BooleanField(default=False)
    test_rule = models.CharField(
        max_length=24, blank=True, help_text=_("By which stated rule the next test was set")
    )
    away_on = models.DateField(
        null=True, blank=True, help_text=_("With the supplier for a refill since then")
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "serial", "container"], name="one_detail_per_cylinder"
            )
        ]

    def __str__(self) -> str:
        return self.serial


class SupplyPurpose(models.TextChoices):
    """What stock is given for."""

    DOSE = "dose", _("dose")
    GAS = "gas", _("gas")
    FOOD = "food", _("food")


class Supply(Period):
    """Which container feeds which tank or zone for a purpose, from, to.

    ``share_permille`` is a tank's labelled estimate of a shared cylinder.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="supplies")
    purpose = models.CharField(max_length=4, choices=SupplyPurpose.choices)
    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="supplies")
    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="supplies"
    )
    zone = models.ForeignKey(
        Zone, on_delete=models.PROTECT, null=True, blank=True, related_name="supplies"
    )
    share_permille = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta(Period.Meta):
        verbose_name_plural = "supplies"
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.CheckConstraint(
                condition=Q(tank__isnull=False, zone__isnull=True)
                | Q(tank__isnull=True, zone__isnull=False),
                name="supply_feeds_a_tank_or_a_zone",
                violation_error_message=_("Choose a tank or a zone, not both."),
            ),
            models.UniqueConstraint(
                fields=["tank", "item", "purpose"],
                condition=Q(to_at__isnull=True, tank__isnull=False),
                name="one_open_supply_per_tank",
                violation_error_message=_("This tank has a container for that: close it first."),
            ),
            models.UniqueConstraint(
                fields=["zone", "item", "purpose"],
                condition=Q(to_at__isnull=True, zone__isnull=False),
                name="one_open_supply_per_zone",
                violation_error_message=_("This zone has a container for that: close it first."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.container} feeds {self.tank or self.zone}"
