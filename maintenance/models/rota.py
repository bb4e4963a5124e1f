"""Who works when."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import ShowroomRow
from tanks.models import Zone


class Shift(ShowroomRow):
    """A person is here from, to, and takes this zone on rounds."""

    person = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="shifts")
    from_at = models.DateTimeField()
    to_at = models.DateTimeField()
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, null=True, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(to_at__gt=F("from_at")),
                name="shift_ends_after_it_begins",
                violation_error_message=_("The shift must end after it begins."),
            )
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["showroom", "from_at"], name="shifts_of_day")
        ]

    def __str__(self) -> str:
        return f"{self.person} from {self.from_at}"
