"""The glass, the codes it was called by, and where it stood when.

"The tank" means three things: the glass (``Tank``), the place (``Position``) and the planted work
in it (``Layout``). Each has its own row and its own time.
"""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Period, ShowroomRow
from tanks.models.place import Position


class Purpose(models.TextChoices):
    """What a tank is for."""

    DISPLAY = "display", _("display")
    HOLDING = "holding", _("holding")
    QUARANTINE = "quarantine", _("quarantine")


class Tank(ShowroomRow):
    """The glass: outer size in millimetres. Volumes are worked out from it, never typed."""

    length_mm = models.PositiveIntegerField()
    width_mm = models.PositiveIntegerField()
    height_mm = models.PositiveIntegerField()
    glass_mm = models.PositiveIntegerField()
    base_mm = models.PositiveIntegerField(null=True, blank=True)
    kind_of_glass = models.CharField(
        max_length=12, choices=[("float", _("float")), ("low_iron", _("low-iron"))], default="float"
    )
    purpose = models.CharField(max_length=12, choices=Purpose.choices, default=Purpose.DISPLAY)
    maker_volume_note = models.CharField(max_length=40, blank=True)
    acquired_on = models.DateField(null=True, blank=True)
    rim_gap_mm = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("From the waterline up to the rim")
    )
    came_from = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="became",
        help_text=_("The glass that this one replaced, or was a part of"),
    )
    went_into = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="took_in",
        help_text=_("The glass that took in what lived here when this one went out of service"),
    )
    retired_at = models.DateTimeField(null=True, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(length_mm__gte=100, length_mm__lte=5000),
                name="tank_length_is_100_to_5000_mm",
                violation_error_message=_("Length: 100 to 5,000 mm. Is it in centimetres?"),
            ),
            models.CheckConstraint(
                condition=Q(width_mm__gte=100, width_mm__lte=3000),
                name="tank_width_is_100_to_3000_mm",
                violation_error_message=_("Width: 100 to 3,000 mm. Is it in centimetres?"),
            ),
            models.CheckConstraint(
                condition=Q(height_mm__gte=100, height_mm__lte=2000),
                name="tank_height_is_100_to_2000_mm",
                violation_error_message=_("Height: 100 to 2,000 mm. Is it in centimetres?"),
            ),
            models.CheckConstraint(
                condition=Q(glass_mm__gte=2, glass_mm__lte=50),
                name="tank_glass_is_2_to_50_mm",
                violation_error_message=_("Glass: 2 to 50 mm."),
            ),
        ]

    def __str__(self) -> str:
        return f"glass {self.length_mm} x {self.width_mm} x {self.height_mm} mm"


class TankCode(Period):
    """What a tank is called, since when. An old code still finds its tank."""

    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, related_name="codes")
    code = models.CharField(max_length=16)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta(Period.Meta):
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.UniqueConstraint(
                fields=["showroom", "code"],
                condition=Q(to_at__isnull=True, voided_at__isnull=True),
                name="one_tank_per_open_code",
                violation_error_message=_("Another tank has this code: choose another."),
            ),
            models.UniqueConstraint(
                fields=["tank"],
                condition=Q(to_at__isnull=True, voided_at__isnull=True),
                name="one_open_code_per_tank",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class Placement(Period):
    """This glass stood at this place from, to."""

    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, related_name="placements")
    position = models.ForeignKey(Position, on_delete=models.PROTECT, related_name="placements")
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta(Period.Meta):
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.UniqueConstraint(
                fields=["tank"],
                condition=Q(to_at__isnull=True, voided_at__isnull=True),
                name="a_tank_stands_in_one_place",
                violation_error_message=_(
                    "This tank already stands somewhere: move it from there."
                ),
            ),
            models.UniqueConstraint(
                fields=["position"],
                condition=Q(to_at__isnull=True, voided_at__isnull=True),
                name="one_tank_per_place",
                violation_error_message=_("Another tank stands at this place: choose a free one."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.tank} at {self.position}"
