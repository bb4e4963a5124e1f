"""What a layout is made of: plant groups, hardscape, substrate; each with its own from and to."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Period, ShowroomRow
from tanks.models.layout import Layout
from tanks.models.species import Species


class GroupPlace(models.TextChoices):
    """Where in the layout a plant group grows."""

    FOREGROUND = "foreground", _("foreground")
    MIDGROUND = "midground", _("midground")
    BACKGROUND = "background", _("background")
    EPIPHYTE = "epiphyte", _("on wood or stone")
    MOSS = "moss", _("moss")
    FLOATING = "floating", _("floating")


class Fixing(models.TextChoices):
    """How a plant was fixed; a fixed list."""

    PLANTED = "planted", _("planted in substrate")
    TWEEZERS = "tweezers", _("plug with tweezers")
    GLUE = "glue", _("gel glue")
    COTTON = "cotton", _("cotton thread")
    LINE = "line", _("fishing line")
    WEDGED = "wedged", _("wedged")
    FLOATING = "floating", _("floating")
    MESH = "mesh", _("on mesh or stone plate")
    SELF = "self", _("self-attached")
    DRY_START = "dry_start", _("dry start")


class LeafColour(models.TextChoices):
    """Leaf colour as the designer saw it."""

    LIGHT_GREEN = "light_green", _("light green")
    DARK_GREEN = "dark_green", _("dark green")
    RED = "red", _("red")


class PlantGroup(Period):
    """Plants of one or more species that stand together, and how they are kept in shape."""

    layout = models.ForeignKey(Layout, on_delete=models.PROTECT, related_name="plant_groups")
    number = models.PositiveSmallIntegerField()
    place = models.CharField(max_length=12, choices=GroupPlace.choices)
    species = models.ManyToManyField(Species, related_name="plant_groups")
    centre_permille = models.PositiveSmallIntegerField(
        default=500, help_text=_("Middle of the group from the left, in thousandths of the length")
    )
    spread_permille = models.PositiveSmallIntegerField(default=300)
    height_mm = models.PositiveIntegerField(null=True, blank=True)
    planted_count = models.PositiveIntegerField(null=True, blank=True)
    planted_as = models.CharField(max_length=40, blank=True)
    fixing = models.CharField(max_length=12, choices=Fixing.choices)
    leaf_colour = models.CharField(max_length=12, choices=LeafColour.choices)
    trimming = models.CharField(max_length=300, blank=True)
    if_not_trimmed = models.CharField(max_length=300, blank=True)
    left_to_spread = models.CharField(max_length=300, blank=True)
    trim_reason = models.CharField(max_length=300, blank=True)
    provenance = models.CharField(max_length=200, blank=True)
    grown_into = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="grown_from",
        help_text=_("The group it can no longer be told apart from"),
    )

    class Meta(Period.Meta):
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.UniqueConstraint(
                fields=["layout", "number"],
                condition=Q(to_at__isnull=True),
                name="one_open_plant_group_per_number",
                violation_error_message=_("This layout has a group of that number."),
            ),
            models.CheckConstraint(
                condition=Q(centre_permille__lte=1000, spread_permille__lte=1000),
                name="plant_group_lies_inside_the_glass",
                violation_error_message=_(
                    "A group lies between 0 and 1,000 thousandths of the length."
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.get_place_display()}"


class Hardscape(Period):
    """A stone or a piece of wood, with its mass going in and coming out."""

    layout = models.ForeignKey(Layout, on_delete=models.PROTECT, related_name="hardscape")
    kind = models.CharField(max_length=8, choices=[("stone", _("stone")), ("wood", _("wood"))])
    name = models.CharField(max_length=80, blank=True)
    centre_permille = models.PositiveSmallIntegerField(default=500)
    length_mm = models.PositiveIntegerField(default=150)
    height_mm = models.PositiveIntegerField(default=150)
    mass_in_mg = models.BigIntegerField(null=True, blank=True)
    mass_out_mg = models.BigIntegerField(null=True, blank=True)

    class Meta(Period.Meta):
        verbose_name_plural = "hardscape"

    def __str__(self) -> str:
        return self.name or self.get_kind_display()


class SubstrateLayer(ShowroomRow):
    """One layer of the ground, from below upwards."""

    layout = models.ForeignKey(Layout, on_delete=models.PROTECT, related_name="substrate_layers")
    order = models.PositiveSmallIntegerField()
    material = models.CharField(max_length=80)
    front_mm = models.PositiveIntegerField()
    back_mm = models.PositiveIntegerField()

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["layout", "order"], name="one_substrate_layer_per_order"
            )
        ]

    def __str__(self) -> str:
        return self.material
