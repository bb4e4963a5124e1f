"""The audit trail: who changed what, what it was before and after."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models

from gallery_ops.kernel.models.base import ShowroomRow


class AuditEntry(ShowroomRow):
    """One change of a thing, a plan or a right. Facts speak for themselves and need none."""

    is_fact: ClassVar[bool] = True

    at = models.DateTimeField()
    person = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    deed = models.CharField(max_length=60)
    subject_kind = models.CharField(max_length=40)
    subject_key = models.CharField(max_length=60)
    before = models.JSONField(null=True, blank=True)
    after = models.JSONField(null=True, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    reference = models.CharField(max_length=60, blank=True)

    class Meta:
        verbose_name_plural = "audit entries"
        indexes: ClassVar[list[Any]] = [
            models.Index(
                fields=["showroom", "subject_kind", "subject_key", "-at"], name="audit_of_subject"
            ),
            models.Index(fields=["showroom", "reference"], name="audit_of_reference"),
        ]

    def __str__(self) -> str:
        return f"{self.deed} {self.subject_kind} {self.subject_key}"
