"""What should be given from a date on: dated, versioned plans of use by tank."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Named, ShowroomRow
from inventory.models.container import SupplyPurpose
from inventory.models.item import Item
from tanks.models import Tank


class UsePlan(Named, ShowroomRow):
    """A version of what one tank gets of one item. Changing a plan closes it and opens the next."""

    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, related_name="use_plans")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="use_plans")
    purpose = models.CharField(max_length=4, choices=SupplyPurpose.choices)
    version = models.PositiveIntegerField()
    from_on = models.DateField()
    to_on = models.DateField(null=True, blank=True, help_text=_("First day no longer in force"))
    made_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    reason = models.CharField(max_length=200, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["tank", "item", "purpose", "version"], name="one_row_per_plan_version"
            ),
            models.UniqueConstraint(
                fields=["tank", "item", "purpose"],
                condition=Q(to_on__isnull=True, voided_at__isnull=True),
                name="one_open_plan_per_tank_and_item",
                violation_error_message=_("A plan is in force: change it instead of adding one."),
            ),
            models.CheckConstraint(
                condition=Q(to_on__isnull=True) | Q(to_on__gte=F("from_on")),
                name="plan_ends_after_it_begins",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tank} {self.item} version {self.version}"


class UsePlanLine(ShowroomRow):
    """An amount on certain weekdays for part of the plan's time; a ramp is several lines."""

    plan = models.ForeignKey(UsePlan, on_delete=models.PROTECT, related_name="lines")
    from_on = models.DateField()
    to_on = models.DateField(null=True, blank=True)
    weekdays = models.CharField(
        max_length=7,
        default="1111111",
        validators=[RegexValidator(r"^[01]{7}$", _("Seven characters from Monday, 1 for yes."))],
    )
    amount_base = models.PositiveBigIntegerField()
    by = models.CharField(
        max_length=6,
        choices=[("hand", _("by hand")), ("feeder", _("feeder")), ("valve", _("valve"))],
        default="hand",
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(to_on__isnull=True) | Q(to_on__gt=F("from_on")),
                name="plan_line_ends_after_it_begins",
                violation_error_message=_("The step must end after it begins."),
            ),
            models.CheckConstraint(
                condition=Q(amount_base__lte=10**9),
                name="plan_line_is_at_most_a_thousand_litres_or_kilograms",
                violation_error_message=_("Amount a day: at most 1,000 L or 1,000 kg."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount_base} on {self.weekdays}"
