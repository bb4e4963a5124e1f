"""What a build needs: one line a thing, planned before building day and counted on it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Named, ShowroomRow
from tanks.models.layout import Layout
from tanks.models.species import Species


class MaterialPart(models.TextChoices):
    """What a line is, and so how it is worked out."""

    CARPET = "carpet", _("carpet")
    MIDDLE = "middle", _("middle plants")
    STEMS = "stems", _("stems")
    MOSS = "moss", _("moss")
    EPIPHYTE = "epiphyte", _("plants on wood or stone")
    SPARE = "spare", _("spoilage")
    GROUND = "ground", _("ground")
    STONE = "stone", _("stone")
    WOOD = "wood", _("wood")
    GLUE = "glue", _("gel glue")
    OTHER = "other", _("anything else")
    WORK = "work", _("hours of building")
    FEE = "fee", _("designer's fee")
    CARE = "care", _("first six weeks of care, hours")
    BACK = "back", _("comes back at teardown")
    HOME = "home", _("the materials, bought at home")


class Secured(models.TextChoices):
    """Where a thing comes from that the store does not keep."""

    UNSAID = "", _("nobody said")
    OWN = "own", _("our own")
    ORDERED = "ordered", _("ordered")
    SHORT = "short", _("not to be had")


class MaterialLine(Named, ShowroomRow):
    """A plan: so much of it, because of an area, a volume or a count; then what it came to.

    ``rate`` is what one of them does: square centimetres a cup, pot or stem, millilitres a bag,
    grams of stone a litre, pieces a tube. ``reservation`` names what the store keeps for it.
    """

    layout = models.ForeignKey(Layout, on_delete=models.PROTECT, related_name="material_lines")
    order = models.PositiveSmallIntegerField()
    part = models.CharField(max_length=12, choices=MaterialPart.choices)
    what = models.CharField(max_length=80)
    species = models.ForeignKey(Species, on_delete=models.PROTECT, null=True, blank=True)
    item_code = models.CharField(max_length=40, blank=True)
    share_percent = models.PositiveSmallIntegerField(null=True, blank=True)
    rate = models.PositiveIntegerField(null=True, blank=True)
    per_pack = models.PositiveSmallIntegerField(null=True, blank=True)
    front_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    back_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    said_count = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("Instead of what is worked out")
    )
    unit_cents = models.PositiveBigIntegerField(null=True, blank=True)
    secured = models.CharField(max_length=8, choices=Secured.choices, blank=True)
    secured_on = models.DateField(null=True, blank=True)
    secured_words = models.CharField(max_length=120, blank=True)
    substitute_for = models.CharField(max_length=80, blank=True)
    agreed_on = models.DateField(null=True, blank=True)
    reservation = models.UUIDField(null=True, blank=True)
    actual_count = models.PositiveIntegerField(null=True, blank=True)
    actual_cents = models.PositiveBigIntegerField(null=True, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(share_percent__isnull=True)
                | Q(share_percent__gte=1, share_percent__lte=100),
                name="material_share_is_1_to_100",
                violation_error_message=_("Share of the ground: 1 to 100 %."),
            ),
            models.UniqueConstraint(
                fields=["layout", "order"],
                condition=Q(voided_at__isnull=True),
                name="one_material_line_per_order",
            ),
        ]

    def __str__(self) -> str:
        return self.what
