"""Suppliers, orders and receipts as programs read them, and a draft as they write it."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from gallery_ops.api.serializers.amount import AmountSerializer, Described
from gallery_ops.kernel.values.money import Money
from inventory.models import OrderState, SupplierItem

HOW: Any = SupplierItem._meta.get_field("how").choices
LEAD_FIELDS = ("stated_days", "median_days", "low_days", "high_days", "n")
MOST_PACKS = 10_000


class MoneySerializer(serializers.Serializer[Any]):
    """Whole minor units of a currency (ISO 4217), and as people read it."""

    cents = serializers.IntegerField()
    currency = serializers.CharField()
    text = serializers.CharField()


class Priced(Described):
    """A serializer that also knows what things cost."""

    def money(self, cents: int | None) -> dict[str, Any] | None:
        """A price as it travels, None for one that nobody knows."""
        if cents is None:
            return None
        showroom = self.asker.showroom
        value = Money(cents, showroom.currency)
        return {
            "cents": cents,
            "currency": value.currency,
            "text": value.text(showroom.decimal_mark),
        }


class OfferSerializer(Priced):
    """A pack that a supplier sells."""

    item = serializers.CharField(source="item.code")
    item_name = serializers.CharField(source="item.name")
    pack = serializers.SerializerMethodField()
    price = serializers.SerializerMethodField()
    deposit = serializers.SerializerMethodField()
    how = serializers.ChoiceField(choices=HOW)
    is_preferred = serializers.BooleanField()

    @extend_schema_field(AmountSerializer)
    def get_pack(self, row: Any) -> dict[str, Any] | None:
        """What one pack holds."""
        return self.amount(row.item.dimension, row.pack_base)

    @extend_schema_field(MoneySerializer(allow_null=True))
    def get_price(self, row: Any) -> dict[str, Any] | None:
        """Of one pack; null when nobody knows."""
        return self.money(row.price_cents)

    @extend_schema_field(MoneySerializer)
    def get_deposit(self, row: Any) -> dict[str, Any] | None:
        """Left with them for each."""
        return self.money(row.deposit_cents)


class LeadSerializer(serializers.Serializer[Any]):
    """Days from order to van: stated, and learned from ``n`` orders; nine in ten come between."""

    stated_days = serializers.IntegerField()
    median_days = serializers.FloatField()
    low_days = serializers.IntegerField()
    high_days = serializers.IntegerField()
    n = serializers.IntegerField()


class SupplierSerializer(Priced):
    """Who delivers."""

    uid = serializers.UUIDField()
    name = serializers.CharField()
    delivery_weekdays = serializers.CharField(help_text="Seven characters from Monday, 1 for yes")
    living_weekdays = serializers.CharField(allow_blank=True)
    cut_off_at = serializers.TimeField(allow_null=True)
    is_exchange = serializers.BooleanField()
    claim_hours = serializers.IntegerField(allow_null=True)
    smallest_order = serializers.SerializerMethodField()
    carriage = serializers.SerializerMethodField()
    lead = serializers.SerializerMethodField()
    offers = serializers.SerializerMethodField()

    @extend_schema_field(MoneySerializer)
    def get_smallest_order(self, row: Any) -> dict[str, Any] | None:
        """They take no smaller one."""
        return self.money(row.min_order_cents)

    @extend_schema_field(MoneySerializer)
    def get_carriage(self, row: Any) -> dict[str, Any] | None:
        """Of one order."""
        return self.money(row.carriage_cents)

    @extend_schema_field(LeadSerializer)
    def get_lead(self, row: Any) -> dict[str, Any]:
        """How long they take."""
        known = self.context["leads"][row.pk]
        return {name: getattr(known, name) for name in LEAD_FIELDS}

    @extend_schema_field(OfferSerializer(many=True))
    def get_offers(self, row: Any) -> Any:
        """What they sell."""
        rows = self.context["offers"].get(row.pk, [])
        return OfferSerializer(rows, many=True, context=self.context).data


class OrderLineSerializer(Priced):
    """So many packs of an item."""

    uid = serializers.UUIDField()
    item = serializers.CharField(source="item.code")
    item_name = serializers.CharField(source="item.name")
    pack = serializers.SerializerMethodField()
    packs = serializers.IntegerField()
    not_wanted_packs = serializers.IntegerField()
    to_come_packs = serializers.SerializerMethodField()
    price = serializers.SerializerMethodField()

    @extend_schema_field(AmountSerializer)
    def get_pack(self, row: Any) -> dict[str, Any] | None:
        """What one pack holds."""
        return self.amount(row.item.dimension, row.pack_base)

    def get_to_come_packs(self, row: Any) -> int:
        """Neither here nor unwanted; of a draft, what would come."""
        settled = self.context["settled"].get(row.pk, 0)
        return int(max(0, row.packs - row.not_wanted_packs - settled))

    @extend_schema_field(MoneySerializer(allow_null=True))
    def get_price(self, row: Any) -> dict[str, Any] | None:
        """Of one pack, as expected when it was ordered."""
        return self.money(row.price_cents)


class OrderSerializer(Priced):
    """An order. Nothing of it is on order before it was sent."""

    uid = serializers.UUIDField()
    number = serializers.IntegerField()
    supplier = serializers.UUIDField(source="supplier.uid")
    supplier_name = serializers.CharField(source="supplier.name")
    state = serializers.ChoiceField(choices=OrderState.choices)
    wanted_on = serializers.DateField(allow_null=True)
    note = serializers.CharField(allow_blank=True)
    made_at = serializers.DateTimeField()
    sent_at = serializers.DateTimeField(allow_null=True)
    closed_at = serializers.DateTimeField(allow_null=True)
    expected_from = serializers.SerializerMethodField()
    expected_to = serializers.SerializerMethodField()
    to_pay = serializers.SerializerMethodField()
    lines = serializers.SerializerMethodField()

    @extend_schema_field(serializers.DateField(allow_null=True))
    def get_expected_from(self, row: Any) -> Any:
        """First delivery day on which the rest is expected; null when nothing is to come."""
        window = self.context["expected"].get(row.pk)
        return window[0] if window else None

    @extend_schema_field(serializers.DateField(allow_null=True))
    def get_expected_to(self, row: Any) -> Any:
        """Last such day; null when nothing is to come, or when it is late and nobody knows."""
        window = self.context["expected"].get(row.pk)
        return window[1] if window else None

    @extend_schema_field(MoneySerializer)
    def get_to_pay(self, row: Any) -> dict[str, Any] | None:
        """Goods and carriage."""
        return self.money(self.context["to_pay"][row.pk].cents)

    @extend_schema_field(OrderLineSerializer(many=True))
    def get_lines(self, row: Any) -> Any:
        """What stands on it."""
        rows = self.context["lines"].get(row.pk, [])
        return OrderLineSerializer(rows, many=True, context=self.context).data


class ReceiptLineSerializer(Priced):
    """What came of one thing."""

    line = serializers.SerializerMethodField()
    item = serializers.CharField(source="item.code")
    item_name = serializers.CharField(source="item.name")
    pack = serializers.SerializerMethodField()
    packs_came = serializers.IntegerField()
    packs_broken = serializers.IntegerField()
    is_kept = serializers.BooleanField()
    maker_lot = serializers.SerializerMethodField()
    expires_on = serializers.SerializerMethodField()
    claim_until = serializers.DateTimeField(allow_null=True)

    @extend_schema_field(serializers.UUIDField(allow_null=True))
    def get_line(self, row: Any) -> Any:
        """The line of the order that it came for."""
        return row.line.uid if row.line else None

    @extend_schema_field(AmountSerializer)
    def get_pack(self, row: Any) -> dict[str, Any] | None:
        """What one pack holds."""
        return self.amount(row.item.dimension, row.pack_base)

    def get_maker_lot(self, row: Any) -> str:
        """As printed; empty when nothing was booked or read."""
        return str(row.lot.maker_lot) if row.lot else ""

    @extend_schema_field(serializers.DateField(allow_null=True))
    def get_expires_on(self, row: Any) -> Any:
        """As printed."""
        return row.lot.expires_on if row.lot else None


class ReceiptSerializer(Priced):
    """A van came."""

    uid = serializers.UUIDField()
    supplier = serializers.UUIDField(source="supplier.uid")
    order = serializers.SerializerMethodField()
    delivery_note = serializers.CharField(allow_blank=True)
    done_at = serializers.DateTimeField(source="done_at_corrected")
    person = serializers.CharField(source="person.name")
    lines = serializers.SerializerMethodField()

    @extend_schema_field(serializers.UUIDField(allow_null=True))
    def get_order(self, row: Any) -> Any:
        """The order that it belongs to."""
        return row.order.uid if row.order else None

    @extend_schema_field(ReceiptLineSerializer(many=True))
    def get_lines(self, row: Any) -> Any:
        """What it brought."""
        return ReceiptLineSerializer(row.lines.all(), many=True, context=self.context).data


class DraftSerializer(serializers.Serializer[Any]):
    """To whom."""

    supplier = serializers.UUIDField()


class DraftLineSerializer(serializers.Serializer[Any]):
    """So many packs of an item; the same pack again changes their number."""

    item = serializers.CharField(max_length=40, help_text="Code of the item")
    pack = serializers.IntegerField(
        min_value=1, max_value=10**9, help_text="What one pack holds, in whole base units"
    )
    packs = serializers.IntegerField(min_value=1, max_value=MOST_PACKS)
