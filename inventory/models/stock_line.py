"""One line of the stock page as it was last concluded: thrown away and made again alike."""

from __future__ import annotations

from datetime import date
from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Alert, HarmClass, ShowroomRow
from inventory.models.container import Container
from inventory.models.forecast import Forecast
from inventory.models.item import Item

NEVER = date.max
"""Where nobody has to act: such lines come last."""


class StockToDo(models.TextChoices):
    """What a line asks of a person."""

    LEAK = "leak", _("look for a leak")
    COUNT = "count", _("it is below nothing: count it")
    PLAN = "plan", _("nothing is planned with it")
    ORDER = "order", _("order it")
    EXCHANGE = "exchange", _("exchange the cylinder")
    TOO_OLD = "too_old", _("open the next")
    PRESS = "press", _("change the instruction")
    WHY = "why", _("find out why it is not as expected")
    ASK = "ask", _("no delivery is known")
    WEIGH = "weigh", _("it was never measured")
    NOTHING = "nothing", _("nothing")
    WAIT = "wait", _("not counted yet")


class StockLine(ShowroomRow):
    """An item with all its containers, or for gas one cylinder: sums, order and what to do.

    Kept so that the page can be ordered and cut by the database. ``act_by_on`` is 9999-12-31 where
    nothing asks for a day. Amounts in base units of the item.
    """

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="stock_lines")
    container = models.ForeignKey(
        Container, on_delete=models.PROTECT, null=True, blank=True, related_name="stock_lines"
    )
    forecast = models.ForeignKey(
        Forecast, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    alert = models.ForeignKey(
        Alert, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    name = models.CharField(max_length=200)
    harm_class = models.CharField(max_length=1, choices=HarmClass.choices)
    to_do = models.CharField(max_length=8, choices=StockToDo.choices, default=StockToDo.WAIT)
    act_by_on = models.DateField(default=NEVER)
    too_old_on = models.DateField(null=True, blank=True)
    opened_on = models.DateField(
        null=True, blank=True, help_text=_("Of the only container, if there is one only")
    )
    level_base = models.BigIntegerField(default=0)
    full_base = models.PositiveBigIntegerField(default=0)
    containers = models.PositiveIntegerField(default=0)
    tanks = models.PositiveIntegerField(default=0)
    is_below_nothing = models.BooleanField(default=False)
    measured_at = models.DateTimeField(null=True, blank=True)
    measured_by = models.CharField(max_length=120, blank=True)
    out_before_next = models.FloatField(null=True, blank=True)
    projected_at = models.DateTimeField(null=True, blank=True)
    scored = models.PositiveIntegerField(
        default=0, help_text=_("Projections of the item that met their truth within a year")
    )
    inside = models.PositiveIntegerField(default=0)
    early_days = models.FloatField(
        null=True, blank=True, help_text=_("Likely day before the truth, mean; after: negative")
    )
    made_at = models.DateTimeField()

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["item"],
                condition=Q(container__isnull=True),
                name="one_stock_line_per_item",
            ),
            models.UniqueConstraint(
                fields=["container"],
                condition=Q(container__isnull=False),
                name="one_stock_line_per_container",
            ),
            models.CheckConstraint(
                condition=Q(to_do__in=StockToDo.values), name="stock_line_to_do_is_known"
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(
                fields=["showroom", "act_by_on", "harm_class", "name", "id"],
                name="stock_lines_in_order",
            ),
            models.Index(fields=["showroom", "projected_at"], name="stock_lines_oldest"),
            models.Index(
                fields=["showroom", "harm_class", "out_before_next"], name="stock_lines_at_risk"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}: {self.to_do}"
