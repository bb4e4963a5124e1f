"""Light, filter, heater and pump: what serves which tank, when."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, Period
from tanks.models.tank import Tank


class Equipment(Period):
    """A piece of equipment on a tank for a period; ``figures`` carries its units in the keys."""

    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, related_name="equipment")
    kind = models.CharField(
        max_length=12,
        choices=[
            ("light", _("light")),
            ("filter", _("canister filter")),
            ("heater", _("heater")),
            ("pump", _("pump")),
            ("gas", _("gas timer")),
            ("lid", _("lid")),
        ],
    )
    name = models.CharField(max_length=80, blank=True)
    figures = models.JSONField(
        default=dict, blank=True, help_text=_("such as power_w, hours_per_day, flow_l_per_h")
    )

    serial = models.CharField(max_length=60, blank=True)
    socket = models.CharField(max_length=40, blank=True, help_text=_("Which socket feeds it"))
    circuit = models.CharField(max_length=40, blank=True, help_text=_("Which circuit that is on"))
    spares = models.CharField(max_length=200, blank=True, help_text=_("What lies ready, and where"))

    class Meta(Period.Meta):
        verbose_name_plural = "equipment"

    def __str__(self) -> str:
        return self.name or self.get_kind_display()


class EquipmentService(Fact):
    """Somebody cleaned, repaired or measured a piece of equipment."""

    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="services")
    what = models.CharField(
        max_length=8,
        choices=[
            ("cleaned", _("cleaned")),
            ("part", _("part replaced")),
            ("repair", _("repaired")),
            ("measured", _("measured")),
        ],
    )
    flow_l_per_h = models.FloatField(null=True, blank=True)
    text = models.CharField(max_length=300, blank=True)

    class Meta:
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["equipment", "-done_at_corrected"], name="services_of_equipment")
        ]

    def __str__(self) -> str:
        return f"{self.equipment}: {self.what}"
