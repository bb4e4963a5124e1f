"""What a tablet sent, stored before it is applied, and what became of it."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import ShowroomRow


class Action(ShowroomRow):
    """The raw envelope of one tap: canonical JSON and hash, stored together with its effects."""

    is_fact: ClassVar[bool] = True

    action_id = models.UUIDField()
    device = models.ForeignKey(
        "kernel.Device", on_delete=models.PROTECT, null=True, blank=True, related_name="actions"
    )
    seq = models.BigIntegerField(null=True, blank=True)
    kind = models.CharField(max_length=20)
    person = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    round_code = models.CharField(max_length=8, blank=True)
    stop_key = models.CharField(max_length=20, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_at_corrected = models.DateTimeField(null=True, blank=True)
    offset_ms = models.BigIntegerField(default=0)
    entered_at = models.DateTimeField()
    canonical = models.TextField(max_length=65536)
    sha256 = models.CharField(max_length=64)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "action_id", "sha256"], name="one_action_per_id_and_content"
            )
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["showroom", "action_id"], name="action_by_id"),
            models.Index(fields=["device", "seq"], name="actions_of_device"),
            models.Index(fields=["showroom", "round_code"], name="actions_of_round"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.action_id}"


class Verdict(ShowroomRow):
    """What became of an action; the newest counts. A person's decision is a further verdict."""

    is_fact: ClassVar[bool] = True

    action = models.ForeignKey(Action, on_delete=models.PROTECT, related_name="verdicts")
    at = models.DateTimeField()
    outcome = models.CharField(
        max_length=10,
        choices=[
            ("accepted", _("stored and counted")),
            ("held", _("needs a person")),
            ("differs", _("two versions, both kept")),
            ("malformed", _("cannot be read")),
            ("withdrawn", _("taken back before a person looked at it")),
            ("noted", _("kept as a note, not counted")),
            ("refused", _("a slip, not counted")),
        ],
    )
    code = models.CharField(max_length=40, blank=True)
    sentence = models.CharField(max_length=400, blank=True)
    remedy = models.CharField(max_length=400, blank=True)
    decided_by = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        indexes: ClassVar[list[Any]] = [
            models.Index(
                fields=["showroom", "at"],
                condition=~Q(outcome="accepted"),
                name="verdicts_not_accepted",
            )
        ]

    def __str__(self) -> str:
        return self.outcome
