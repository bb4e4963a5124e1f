"""What somebody saw or said that is neither a number nor stock: a look, a note, a fault."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact
from maintenance.models.round import Round
from tanks.models import Tank


class Observation(Fact):
    """Words about a tank or a place.

    ``key`` says what was looked at (``animals``, ``surface``); ``data`` holds what the tablet asked
    for, such as counts per batch.
    """

    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="observations"
    )
    round = models.ForeignKey(Round, on_delete=models.PROTECT, null=True, blank=True)
    kind = models.CharField(
        max_length=10,
        choices=[
            ("look", _("looked different")),
            ("unable", _("could not measure")),
            ("note", _("note")),
            ("fault", _("fault")),
            ("animal", _("animals")),
        ],
    )
    key = models.CharField(max_length=64, blank=True)
    text = models.CharField(max_length=500, blank=True)
    data = models.JSONField(default=dict, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "action_id", "key"],
                condition=Q(action_id__isnull=False),
                name="one_observation_per_action_and_key",
            )
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(
                fields=["showroom", "tank", "-done_at_corrected"], name="observations_of_tank"
            )
        ]

    def __str__(self) -> str:
        return self.text or self.key
