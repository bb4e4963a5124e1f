"""What is used up: items, their lots, and the suppliers who bring them."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import HarmClass, Named, ShowroomRow


class ItemKind(models.TextChoices):
    """What an item is for; decides how it is shown and what is asked of it."""

    FERTILISER = "fertiliser", _("fertiliser")
    GAS = "gas", _("CO2")
    FOOD = "food", _("food")
    CONDITIONER = "conditioner", _("conditioner")
    TEST = "test", _("test")
    OTHER = "other", _("other")


class Item(Named, ShowroomRow):
    """Something counted in one dimension; every amount of it is a whole number of base units.

    Base units: microlitre for a volume, milligram for a mass, piece for a count.
    """

    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=ItemKind.choices)
    dimension = models.CharField(
        max_length=6,
        choices=[("volume", _("volume")), ("mass", _("mass")), ("piece", _("pieces"))],
    )
    density_mg_per_ml = models.PositiveIntegerField(default=1000)
    density_is_assumed = models.BooleanField(default=True)
    opened_life_days = models.PositiveIntegerField(null=True, blank=True)
    unusable_base = models.PositiveBigIntegerField(
        default=0, help_text=_("What stays in a container, in base units")
    )
    full_dose_ul_per_l = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("Full daily dose per litre of outer volume")
    )
    is_living = models.BooleanField(
        default=False, help_text=_("Plants and animals: they do not travel over a weekend")
    )
    storage = models.CharField(max_length=80, blank=True)
    storage_max_base = models.PositiveBigIntegerField(
        null=True, blank=True, help_text=_("The most that its shelf holds, in base units")
    )
    count_class = models.CharField(
        max_length=1, choices=[("A", "A"), ("B", "B"), ("C", "C")], default="B"
    )
    harm_class = models.CharField(max_length=1, choices=HarmClass.choices, default=HarmClass.B)
    retired_at = models.DateTimeField(null=True, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "code"],
                condition=Q(voided_at__isnull=True),
                name="one_item_per_code",
                violation_error_message=_("An item of this short name exists."),
            ),
            models.CheckConstraint(
                condition=Q(density_mg_per_ml__gte=500, density_mg_per_ml__lte=2500),
                name="item_density_is_0_5_to_2_5",
                violation_error_message=_("Density: 0.5 to 2.5 g/mL."),
            ),
            models.CheckConstraint(
                condition=Q(dimension__in=["volume", "mass", "piece"]),
                name="item_dimension_is_known",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Supplier(Named, ShowroomRow):
    """Who delivers: on which weekdays, how long after an order, closed when."""

    name = models.CharField(max_length=120)
    delivery_weekdays = models.CharField(
        max_length=7,
        default="1111100",
        validators=[RegexValidator(r"^[01]{7}$", _("Seven characters from Monday, 1 for yes."))],
    )
    cut_off_at = models.TimeField(null=True, blank=True)
    stated_lead_days = models.PositiveSmallIntegerField(default=5)
    min_order_cents = models.PositiveBigIntegerField(default=0)
    is_exchange = models.BooleanField(default=False)
    contact_private = models.CharField(max_length=200, blank=True)
    email = models.EmailField(blank=True)
    our_number = models.CharField(
        max_length=40, blank=True, help_text=_("Under which number they know us")
    )
    carriage_cents = models.PositiveBigIntegerField(default=0)
    carriage_free_from_cents = models.PositiveBigIntegerField(null=True, blank=True)
    claim_hours = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text=_("Broken or dead on arrival: claim within so many hours")
    )
    living_weekdays = models.CharField(
        max_length=7,
        blank=True,
        validators=[RegexValidator(r"^[01]{7}$", _("Seven characters from Monday, 1 for yes."))],
        help_text=_("Days on which plants and animals arrive; empty: as everything else"),
    )
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "name"],
                condition=Q(voided_at__isnull=True),
                name="one_supplier_per_name",
                violation_error_message=_("A supplier of this name exists."),
            )
        ]

    def __str__(self) -> str:
        return self.name


class SupplierClosure(ShowroomRow):
    """Days on which a supplier neither takes nor brings anything."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="closures")
    from_on = models.DateField()
    to_on = models.DateField()

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(to_on__gt=F("from_on")), name="supplier_closure_ends_after_it_begins"
            )
        ]

    def __str__(self) -> str:
        return f"{self.supplier} closed from {self.from_on}"


class SupplierItem(ShowroomRow):
    """What a supplier sells of an item: pack, price and lead time where it differs."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="items")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="supplier_items")
    pack_base = models.PositiveBigIntegerField()
    price_cents = models.PositiveBigIntegerField(null=True, blank=True)
    lead_days = models.PositiveSmallIntegerField(null=True, blank=True)
    is_preferred = models.BooleanField(default=True)
    how = models.CharField(
        max_length=8,
        choices=[("buy", _("bought")), ("exchange", _("exchanged")), ("refill", _("refilled"))],
        default="buy",
    )
    deposit_cents = models.PositiveBigIntegerField(default=0)
    their_code = models.CharField(max_length=40, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["supplier", "item", "pack_base"],
                name="one_price_per_supplier_item_and_pack",
            ),
            models.CheckConstraint(condition=Q(pack_base__gt=0), name="pack_holds_something"),
        ]

    def __str__(self) -> str:
        return f"{self.item} from {self.supplier}"


class Lot(ShowroomRow):
    """A delivery of an item with one expiry date."""

    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="lots")
    maker_lot = models.CharField(max_length=60, blank=True)
    expires_on = models.DateField(null=True, blank=True)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, null=True, blank=True)
    received_on = models.DateField(null=True, blank=True)
    unit_price_cents = models.PositiveBigIntegerField(null=True, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.maker_lot or f"lot {self.pk}"
