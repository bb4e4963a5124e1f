"""Work that must be done: the row is the truth, a message only wakes somebody up to do it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q

from gallery_ops.kernel.models.base import ShowroomRow


class WorkItem(ShowroomRow):
    """One piece of work, wanted since a moment. Wanting it again while it waits changes nothing.

    ``wanted_again_at`` is set when it is wanted while somebody does it: then it is due once more.
    """

    kind = models.CharField(max_length=40)
    subject = models.CharField(max_length=80, blank=True)
    wanted_at = models.DateTimeField()
    due_at = models.DateTimeField()
    wanted_again_at = models.DateTimeField(null=True, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    taken_by = models.CharField(max_length=40, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveIntegerField(default=0)
    error = models.CharField(max_length=1000, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "kind", "subject"],
                condition=Q(done_at__isnull=True),
                name="one_open_work_item_per_subject",
            )
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["due_at"], condition=Q(done_at__isnull=True), name="work_waiting"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.subject}"


class Heartbeat(models.Model):
    """How a page knows that worker and beat live: each writes when it was last seen."""

    kind = models.CharField(max_length=40, unique=True)
    seen_at = models.DateTimeField()
    planned_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.kind}, seen {self.seen_at}"
