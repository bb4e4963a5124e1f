"""By what can rows be filtered? Each filter says what it takes; a wrong value is named."""

from __future__ import annotations

from typing import Any

import django_filters as filters
from django.db.models import QuerySet

from gallery_ops.kernel.models import Alert, HarmClass
from inventory.models import Container, Forecast, GoodsReceipt, Item, PurchaseOrder, Supplier
from maintenance.models import DueTask
from tanks.models import Layout, Tank

HARM = HarmClass.choices
STAGE_CHOICES: Any = Layout._meta.get_field("stage").choices


def _choices(model: Any, name: str) -> Any:
    return model._meta.get_field(name).choices


class TankFilter(filters.FilterSet):
    """Of tanks."""

    room = filters.CharFilter(lookup_expr="iexact", label="Name of the room")
    zone = filters.CharFilter(lookup_expr="iexact", label="Letter of the zone")
    stage = filters.ChoiceFilter(
        choices=[*STAGE_CHOICES, ("vacant", "vacant")], method="by_stage", label="Stage"
    )
    purpose = filters.ChoiceFilter(choices=_choices(Tank, "purpose"), label="What it is for")

    class Meta:
        model = Tank
        fields: list[str] = []

    def by_stage(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """``vacant`` is a tank without a layout."""
        return rows.filter(stage=None) if value == "vacant" else rows.filter(stage=value)


class LayoutFilter(filters.FilterSet):
    """Of layouts."""

    tank = filters.CharFilter(field_name="code", lookup_expr="iexact", label="Code of the tank")
    stage = filters.ChoiceFilter(choices=STAGE_CHOICES, label="Stage")
    state = filters.ChoiceFilter(
        choices=[("open", "stands"), ("closed", "taken out")], method="by_state", label="State"
    )
    on = filters.DateFilter(method="by_day", label="Stood on this day (UTC)")

    class Meta:
        model = Layout
        fields: list[str] = []

    def by_state(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Whether it still stands."""
        return rows.filter(to_at__isnull=value == "open")

    def by_day(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        """Begun by that day and not taken out before it."""
        begun = rows.filter(from_at__date__lte=value)
        return begun.exclude(to_at__date__lt=value)


class ItemFilter(filters.FilterSet):
    """Of items."""

    kind = filters.ChoiceFilter(choices=_choices(Item, "kind"), label="Kind")
    harm_class = filters.ChoiceFilter(choices=HARM, label="Harm class")

    class Meta:
        model = Item
        fields: list[str] = []


class ContainerFilter(filters.FilterSet):
    """Of containers."""

    item = filters.CharFilter(field_name="item__code", label="Code of the item")
    kind = filters.ChoiceFilter(choices=_choices(Container, "kind"), label="Kind")
    room = filters.CharFilter(field_name="room__name", lookup_expr="iexact", label="Room")
    state = filters.ChoiceFilter(
        choices=[("closed", "closed"), ("open", "open"), ("finished", "finished")],
        method="by_state",
        label="State",
    )

    class Meta:
        model = Container
        fields: list[str] = []

    def by_state(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Whether somebody has opened or emptied it."""
        if value == "finished":
            return rows.exclude(finished_on=None)
        return rows.filter(finished_on=None, opened_on__isnull=value == "closed")


class ForecastFilter(filters.FilterSet):
    """Of projections."""

    item = filters.CharFilter(field_name="item__code", label="Code of the item")
    container = filters.CharFilter(field_name="container__code", label="Code of the container")
    harm_class = filters.ChoiceFilter(
        field_name="item__harm_class", choices=HARM, label="Harm class"
    )
    order_by = filters.DateFilter(
        field_name="order_by_on", lookup_expr="lte", label="To be ordered by this day"
    )

    class Meta:
        model = Forecast
        fields: list[str] = []


class AlertFilter(filters.FilterSet):
    """Of alerts."""

    state = filters.ChoiceFilter(
        choices=[("open", "open"), ("closed", "closed")], method="by_state", label="State"
    )
    kind = filters.CharFilter(label="Kind, as reorder or overdue")
    harm_class = filters.ChoiceFilter(choices=HARM, label="Harm class")
    acknowledged = filters.BooleanFilter(
        field_name="acknowledged_at", lookup_expr="isnull", exclude=True, label="Taken care of"
    )

    class Meta:
        model = Alert
        fields: list[str] = []

    def by_state(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Open while its cause stands."""
        return rows.filter(closed_at__isnull=value == "open")


class DueTaskFilter(filters.FilterSet):
    """Of due tasks."""

    on = filters.DateFilter(field_name="due_on", label="Due on this business day")
    after = filters.DateFilter(field_name="due_on", lookup_expr="gte", label="Due from this day")
    before = filters.DateFilter(field_name="due_on", lookup_expr="lt", label="Due before this day")
    state = filters.ChoiceFilter(
        choices=[("open", "to do"), ("done", "done"), ("skipped", "skipped")], label="State"
    )
    harm_class = filters.ChoiceFilter(
        field_name="template__harm_class", choices=HARM, label="Harm class"
    )
    kind = filters.CharFilter(field_name="template__kind", label="look, feed, dose, weigh, work")
    tank = filters.CharFilter(field_name="tank_code", lookup_expr="iexact", label="Tank")

    class Meta:
        model = DueTask
        fields: list[str] = []


class SupplierFilter(filters.FilterSet):
    """Of suppliers."""

    item = filters.CharFilter(method="by_item", label="Code of an item that they sell")

    class Meta:
        model = Supplier
        fields: list[str] = []

    def by_item(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        """Who sells it."""
        return rows.filter(items__item__code=value, items__retired_at=None).distinct()


class OrderFilter(filters.FilterSet):
    """Of orders."""

    state = filters.ChoiceFilter(choices=_choices(PurchaseOrder, "state"), label="How far it came")
    supplier = filters.UUIDFilter(field_name="supplier__uid", label="uid of the supplier")

    class Meta:
        model = PurchaseOrder
        fields: list[str] = []


class ReceiptFilter(filters.FilterSet):
    """Of receipts."""

    order = filters.UUIDFilter(field_name="order__uid", label="uid of the order")
    supplier = filters.UUIDFilter(field_name="supplier__uid", label="uid of the supplier")

    class Meta:
        model = GoodsReceipt
        fields: list[str] = []
