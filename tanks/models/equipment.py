"""Light, filter, heater and pump: what serves which tank, when."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Period
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
        ],
    )
    name = models.CharField(max_length=80, blank=True)
    figures = models.JSONField(
        default=dict, blank=True, help_text=_("such as power_w, hours_per_day, flow_l_per_h")
    )

    class Meta(Period.Meta):
        verbose_name_plural = "equipment"

    def __str__(self) -> str:
        return self.name or self.get_kind_display()
