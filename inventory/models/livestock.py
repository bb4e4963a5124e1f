"""Animals by batch: a count is the sum of its movements."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, Named, ShowroomRow
from inventory.models.item import Supplier
from tanks.models import Species, Tank


class LivestockBatch(Named, ShowroomRow):
    """Animals of one species that arrived together."""

    species = models.ForeignKey(Species, on_delete=models.PROTECT, related_name="batches")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True)
    arrived_on = models.DateField()
    origin = models.CharField(
        max_length=8,
        choices=[("captive", _("captive-bred")), ("wild", _("wild"))],
        default="captive",
    )
    note = models.CharField(max_length=200, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name_plural = "livestock batches"

    def __str__(self) -> str:
        return f"{self.species}, {self.arrived_on}"


class LivestockMovement(Fact):
    """Animals came, moved, died, were sold or counted again."""

    batch = models.ForeignKey(LivestockBatch, on_delete=models.PROTECT, related_name="movements")
    kind = models.CharField(
        max_length=8,
        choices=[
            ("arrive", _("arrived")),
            ("move", _("moved")),
            ("die", _("died")),
            ("cull", _("culled")),
            ("sold", _("sold")),
            ("gift", _("given away")),
            ("born", _("born")),
            ("missing", _("missing")),
            ("found", _("found again")),
            ("recount", _("counted again")),
        ],
    )
    tank_from = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    tank_to = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    count = models.PositiveIntegerField()
    certainty = models.CharField(
        max_length=9,
        choices=[
            ("counted", _("counted")),
            ("estimated", _("estimated")),
            ("at_least", _("at least")),
        ],
        default="counted",
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(tank_from__isnull=False) | Q(tank_to__isnull=False),
                name="livestock_movement_names_a_tank",
                violation_error_message=_("Name the tank that the animals left or came to."),
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.count}"
