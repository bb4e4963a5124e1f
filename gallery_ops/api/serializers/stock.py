"""Items, containers and projections as programs read them."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from gallery_ops.api.serializers.amount import AmountSerializer, Described
from inventory.models import Container, Forecast, Item


def _choices(model: Any, name: str) -> Any:
    return model._meta.get_field(name).choices


class ItemSerializer(Described):
    """Something that is used up."""

    uid = serializers.UUIDField()
    code = serializers.CharField()
    name = serializers.CharField()
    kind = serializers.ChoiceField(choices=_choices(Item, "kind"))
    harm_class = serializers.ChoiceField(choices=_choices(Item, "harm_class"))
    opened_life_days = serializers.IntegerField(allow_null=True)
    is_retired = serializers.SerializerMethodField()
    level = serializers.SerializerMethodField()

    def get_is_retired(self, row: Any) -> bool:
        """No longer bought."""
        return row.retired_at is not None

    @extend_schema_field(AmountSerializer)
    def get_level(self, row: Any) -> dict[str, Any] | None:
        """Sum of all movements; of gas, as of the last weighings."""
        return self.amount(row.dimension, row.ledger_base)


class ContainerSerializer(Described):
    """A bottle, canister, tub or cylinder."""

    code = serializers.CharField()
    name = serializers.CharField(allow_blank=True)
    kind = serializers.ChoiceField(choices=_choices(Container, "kind"))
    item = serializers.CharField(source="item.code")
    item_name = serializers.CharField(source="item.name")
    state = serializers.SerializerMethodField()
    room = serializers.SerializerMethodField()
    capacity = serializers.SerializerMethodField()
    level = serializers.SerializerMethodField()
    measured_at = serializers.SerializerMethodField()
    received_on = serializers.DateField(allow_null=True)
    opened_on = serializers.DateField(allow_null=True)
    finished_on = serializers.DateField(allow_null=True)
    expires_on = serializers.DateField(source="lot.expires_on", allow_null=True)

    @extend_schema_field(serializers.ChoiceField(choices=["closed", "open", "finished"]))
    def get_state(self, row: Any) -> str:
        """Whether somebody has opened or emptied it."""
        if row.finished_on:
            return "finished"
        return "open" if row.opened_on else "closed"

    def get_room(self, row: Any) -> str | None:
        """Where it is kept."""
        return row.room.name if row.room else None

    @extend_schema_field(AmountSerializer)
    def get_capacity(self, row: Any) -> dict[str, Any] | None:
        """What it holds when full."""
        return self.amount(row.item.dimension, row.capacity_base)

    @extend_schema_field(AmountSerializer)
    def get_level(self, row: Any) -> dict[str, Any] | None:
        """What is in it now; of gas by the plan since the last weighing. Below 0: count it."""
        known = self.context["levels"].get(row.pk)
        return self.amount(row.item.dimension, known.base if known else row.ledger_base)

    @extend_schema_field(serializers.DateTimeField(allow_null=True))
    def get_measured_at(self, row: Any) -> Any:
        """When it was last weighed."""
        known = self.context["levels"].get(row.pk)
        return known.measured_at if known else None


class ForecastSerializer(Described):
    """When an item, or one cylinder, runs out: a range and its because."""

    item = serializers.CharField(source="item.code")
    container = serializers.SerializerMethodField()
    name = serializers.CharField(source="item.name")
    harm_class = serializers.ChoiceField(
        source="item.harm_class", choices=_choices(Item, "harm_class")
    )
    as_of_on = serializers.DateField()
    made_at = serializers.DateTimeField()
    engine = serializers.CharField()
    level = serializers.SerializerMethodField()
    plan_per_day = serializers.SerializerMethodField()
    earliest_on = serializers.DateField(allow_null=True)
    likely_on = serializers.DateField(allow_null=True)
    latest_on = serializers.DateField(allow_null=True)
    order_by_on = serializers.DateField(allow_null=True)
    too_old_on = serializers.DateField(allow_null=True)
    alarm = serializers.ChoiceField(choices=_choices(Forecast, "alarm"))
    quantiles_days = serializers.ListField(child=serializers.FloatField(allow_null=True))
    because = serializers.ListField(child=serializers.DictField())

    def get_container(self, row: Any) -> str | None:
        """Code of the cylinder; null for all containers of an item together."""
        return row.container.code if row.container else None

    @extend_schema_field(AmountSerializer)
    def get_level(self, row: Any) -> dict[str, Any] | None:
        """What there was when it was made."""
        return self.amount(row.item.dimension, row.level_base)

    @extend_schema_field(AmountSerializer)
    def get_plan_per_day(self, row: Any) -> dict[str, Any] | None:
        """What the plans ask for in a day."""
        return self.amount(row.item.dimension, row.plan_base_per_day)
