"""What the next shift must know: lines that a round left behind, and who has read them."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact
from maintenance.models.round import Round
from tanks.models import Tank


class HandoverLine(Fact):
    """One sentence about a tank or the whole gallery; ``source`` names the fact behind it.

    ``action_id`` is that of the closing or of the line itself, ``key`` tells the lines of one
    closing apart.
    """

    round = models.ForeignKey(
        Round, on_delete=models.PROTECT, null=True, blank=True, related_name="handover_lines"
    )
    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="handover_lines"
    )
    kind = models.CharField(
        max_length=8,
        choices=[
            ("changed", _("what changed")),
            ("worry", _("worries me")),
            ("do", _("do by")),
        ],
    )
    key = models.CharField(max_length=40, blank=True)
    text = models.CharField(max_length=300)
    by_at = models.DateTimeField(null=True, blank=True)
    source = models.CharField(max_length=80, blank=True)
    handed_to = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "action_id", "key"],
                condition=Q(action_id__isnull=False),
                name="one_handover_line_per_action_and_key",
            ),
            models.CheckConstraint(
                condition=Q(takes_back=True) | ~Q(text=""),
                name="handover_line_says_something",
                violation_error_message=_("Write the line, or leave it out."),
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["showroom", "-done_at_corrected"], name="handover_lately")
        ]

    def __str__(self) -> str:
        return self.text


class HandoverRead(Fact):
    """Somebody has read a line; its person is that somebody."""

    line = models.ForeignKey(HandoverLine, on_delete=models.PROTECT, related_name="reads")

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["line", "person"], name="one_reading_per_line_and_person"
            )
        ]

    def __str__(self) -> str:
        return f"{self.person} read {self.line_id}"
