"""A spreadsheet brought in: what it made, so that twice makes no doubles and undo is whole."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q

from gallery_ops.kernel.models import ShowroomRow


class ImportRun(ShowroomRow):
    """One file brought in by one person."""

    sha256 = models.CharField(max_length=64)
    file_name = models.CharField(max_length=200)
    person = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    rows = models.PositiveIntegerField()
    made = models.JSONField(default=dict)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "sha256"],
                condition=Q(undone_at__isnull=True),
                name="one_standing_import_per_file",
            )
        ]

    def __str__(self) -> str:
        return self.file_name
