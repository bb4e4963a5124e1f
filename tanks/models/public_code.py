"""The short opaque code on a label: what a visitor scans."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Period
from tanks.models.place import Position
from tanks.models.tank import Tank


class PublicCode(Period):
    """A random code that stands for a tank or a position; never used for anything else again."""

    code = models.CharField(max_length=8, unique=True)
    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="public_codes"
    )
    position = models.ForeignKey(
        Position, on_delete=models.PROTECT, null=True, blank=True, related_name="public_codes"
    )

    class Meta(Period.Meta):
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.CheckConstraint(
                condition=Q(tank__isnull=False, position__isnull=True)
                | Q(tank__isnull=True, position__isnull=False),
                name="public_code_stands_for_one_thing",
                violation_error_message=_("A code stands for a tank or for a place, not for both."),
            ),
            models.UniqueConstraint(
                fields=["tank"],
                condition=Q(to_at__isnull=True),
                name="one_open_public_code_per_tank",
            ),
            models.UniqueConstraint(
                fields=["position"],
                condition=Q(to_at__isnull=True),
                name="one_open_public_code_per_position",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code[:4]} {self.code[4:]}"
