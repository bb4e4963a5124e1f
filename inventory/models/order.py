"""What was ordered, what came, and what it cost."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, Named, ShowroomRow
from inventory.models.container import Container
from inventory.models.item import Item, Lot, Supplier, SupplierItem
from tanks.models import Tank


class OrderState(models.TextChoices):
    """How far an order has come. Nothing counts as on order before it was sent."""

    DRAFT = "draft", _("draft")
    SENT = "sent", _("sent")
    PART_RECEIVED = "part_received", _("part received")
    CLOSED = "closed", _("closed")


class PurchaseOrder(Named, ShowroomRow):
    """An order to one supplier; what is still to come stays on it until somebody says otherwise.

    ``number`` is the gallery's own, counted up per showroom. ``wanted_on`` is the delivery day that
    the order asks for; when it came is said by its receipts.
    """

    number = models.PositiveIntegerField()
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    state = models.CharField(max_length=14, choices=OrderState.choices, default=OrderState.DRAFT)
    wanted_on = models.DateField(null=True, blank=True)
    carriage_cents = models.PositiveBigIntegerField(null=True, blank=True)
    note = models.TextField(blank=True, max_length=2000)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(null=True, blank=True)
    sent_by = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(fields=["showroom", "number"], name="one_order_per_number"),
            models.UniqueConstraint(
                fields=["supplier"],
                condition=Q(state="draft", voided_at__isnull=True),
                name="one_draft_order_per_supplier",
                violation_error_message=_("A draft to this supplier exists: add to it."),
            ),
            models.CheckConstraint(
                condition=Q(state__in=OrderState.values), name="order_state_is_known"
            ),
            models.CheckConstraint(
                condition=Q(state="draft") | Q(sent_at__isnull=False),
                name="an_order_past_its_draft_was_sent",
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["showroom", "state", "-sent_at"], name="orders_by_state")
        ]

    def __str__(self) -> str:
        return f"{self.number:04d}"


class OrderLine(Named, ShowroomRow):
    """So many packs of an item at a price. What is neither received nor unwanted is on order."""

    order = models.ForeignKey(PurchaseOrder, on_delete=models.PROTECT, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="order_lines")
    pack_base = models.PositiveBigIntegerField()
    packs = models.PositiveIntegerField()
    not_wanted_packs = models.PositiveIntegerField(default=0)
    price_cents = models.PositiveBigIntegerField(
        null=True, blank=True, help_text=_("Of one pack, as expected when ordered")
    )
    because = models.JSONField(default=dict, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["order", "item", "pack_base"],
                condition=Q(voided_at__isnull=True),
                name="one_line_per_order_item_and_pack",
                violation_error_message=_("This pack is on the order: change its number."),
            ),
            models.CheckConstraint(
                condition=Q(packs__gte=1, packs__lte=10_000, pack_base__gt=0),
                name="order_line_has_1_to_10000_packs",
                violation_error_message=_("Packs: 1 to 10,000."),
            ),
            models.CheckConstraint(
                condition=Q(not_wanted_packs__lte=F("packs")),
                name="no_more_unwanted_than_ordered",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs} x {self.item}"


class GoodsReceipt(Named, Fact):
    """A van came: who wrote down what it brought, for which order, on which note."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="receipts")
    order = models.ForeignKey(
        PurchaseOrder, on_delete=models.PROTECT, null=True, blank=True, related_name="receipts"
    )
    delivery_note = models.CharField(max_length=60, blank=True)
    carriage_cents = models.PositiveBigIntegerField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "action_id"],
                condition=Q(action_id__isnull=False),
                name="one_receipt_per_action",
            )
        ]

    def __str__(self) -> str:
        return f"receipt from {self.supplier}"


class ReceiptLine(Fact):
    """What came of one thing: packs whole, packs broken; its lot; whether it came instead.

    ``line`` is what had been ordered; where ``item`` or ``pack_base`` differ from it, this came
    instead of it, and ``is_kept`` says whether it stays. A lot is named when stock was booked.
    """

    receipt = models.ForeignKey(GoodsReceipt, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(
        OrderLine, on_delete=models.PROTECT, null=True, blank=True, related_name="received"
    )
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="receipt_lines")
    pack_base = models.PositiveBigIntegerField()
    packs_came = models.PositiveIntegerField()
    packs_broken = models.PositiveIntegerField(default=0)
    counts_for_packs = models.PositiveIntegerField(
        default=0, help_text=_("How many packs of the ordered line this settles")
    )
    is_kept = models.BooleanField(default=True)
    lot = models.ForeignKey(
        Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="receipt_lines"
    )
    price_cents = models.PositiveBigIntegerField(null=True, blank=True)
    claim_until = models.DateTimeField(null=True, blank=True)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(packs_broken__lte=F("packs_came")),
                name="no_more_broken_than_came",
                violation_error_message=_("Broken: at most as many as came."),
            ),
            models.CheckConstraint(
                condition=Q(packs_came__lte=10_000, pack_base__gt=0),
                name="receipt_line_has_at_most_10000_packs",
                violation_error_message=_("Packs that came: 0 to 10,000."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs_came} x {self.item}"


class PriceSeen(Fact):
    """What a pack cost from a day on: typed by whoever may set prices, or seen on a receipt."""

    supplier_item = models.ForeignKey(SupplierItem, on_delete=models.PROTECT, related_name="prices")
    price_cents = models.PositiveBigIntegerField()
    from_on = models.DateField()
    receipt_line = models.ForeignKey(
        ReceiptLine, on_delete=models.PROTECT, null=True, blank=True, related_name="prices"
    )

    class Meta:
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["supplier_item", "-from_on"], name="prices_lately")
        ]

    def __str__(self) -> str:
        return f"{self.supplier_item}: {self.price_cents} from {self.from_on}"


class Deposit(Fact):
    """Money left with a supplier for a cylinder or crate (positive), or given back (negative)."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="deposits")
    container = models.ForeignKey(
        Container, on_delete=models.PROTECT, null=True, blank=True, related_name="deposits"
    )
    receipt = models.ForeignKey(
        GoodsReceipt, on_delete=models.PROTECT, null=True, blank=True, related_name="deposits"
    )
    amount_cents = models.BigIntegerField()
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(condition=~Q(amount_cents=0), name="a_deposit_is_an_amount")
        ]

    def __str__(self) -> str:
        return f"{self.supplier}: {self.amount_cents}"


class Reservation(Named, ShowroomRow):
    """Stock that is spoken for: so much of an item, needed on a day, for a build or a class."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="reservations")
    amount_base = models.PositiveBigIntegerField()
    needed_on = models.DateField()
    for_what = models.CharField(max_length=120)
    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="reservations"
    )
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    released_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(amount_base__gt=0),
                name="a_reservation_is_of_something",
                violation_error_message=_("Amount: more than 0."),
            )
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["showroom", "item", "needed_on"], name="reserved_by_item")
        ]

    def __str__(self) -> str:
        return f"{self.item} for {self.for_what}"


class MonthBudget(ShowroomRow):
    """Money set aside for orders of a month; ``month_on`` is its first day."""

    month_on = models.DateField()
    amount_cents = models.PositiveBigIntegerField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(fields=["showroom", "month_on"], name="one_budget_per_month")
        ]

    def __str__(self) -> str:
        return f"{self.month_on:%Y-%m}: {self.amount_cents}"
