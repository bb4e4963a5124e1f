"""What must be shown before a layout passes on: thresholds and the steps of a start-up, as data."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, Period, ShowroomRow


class GateThreshold(Period):
    """A number that a gate asks for, where this showroom wants another one than the default."""

    key = models.SlugField(max_length=40)
    number = models.FloatField()
    reason = models.CharField(max_length=200, blank=True)
    made_by = models.ForeignKey("kernel.Person", on_delete=models.PROTECT, related_name="+")

    class Meta(Period.Meta):
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.UniqueConstraint(
                fields=["showroom", "key"],
                condition=Q(to_at__isnull=True),
                name="one_open_threshold_per_key",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key}: {self.number}"


class GateWord(Fact):
    """What somebody said of one thing that a gate asks for, or that they let it pass and why.

    The last word on a key counts; earlier ones stay. Signs of decline are words of gate ``G8``.
    """

    tank = models.ForeignKey("tanks.Tank", on_delete=models.PROTECT, related_name="gate_words")
    layout = models.ForeignKey(
        "tanks.Layout",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="gate_words",
    )
    gate = models.CharField(max_length=2)
    key = models.SlugField(max_length=40)
    was_so = models.BooleanField(default=True)
    number = models.FloatField(null=True, blank=True)
    text = models.CharField(max_length=300, blank=True)
    let_pass = models.BooleanField(default=False)
    role = models.CharField(max_length=20, blank=True, help_text=_("Of whoever let it pass"))

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(let_pass=False) | (~Q(text="") & ~Q(role="")),
                name="letting_pass_has_a_reason_and_a_role",
                violation_error_message=_("Write why this may be let pass."),
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["tank", "gate", "-done_at_corrected"], name="gate_words_of_tank")
        ]

    def __str__(self) -> str:
        return f"{self.gate} {self.key}"


class StartUpStep(ShowroomRow):
    """One line of a start-up regime, to copy and edit per layout; no layout: the showroom's own.

    Passed on by day *and* condition: the program proposes, a person accepts (``accepted_at``).
    """

    layout = models.ForeignKey(
        "tanks.Layout",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="start_up_steps",
    )
    order = models.PositiveSmallIntegerField()
    from_day = models.PositiveIntegerField()
    to_day = models.PositiveIntegerField(null=True, blank=True)
    change_percent = models.PositiveSmallIntegerField()
    changes_per_week = models.FloatField()
    dose_permille = models.PositiveIntegerField()
    light_minutes = models.PositiveIntegerField()
    tests_on_days = models.JSONField(default=list, blank=True)
    watch = models.CharField(max_length=200, blank=True)
    accepted_at = models.DateTimeField(null=True, blank=True)
    accepted_by = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "layout", "order"],
                condition=Q(layout__isnull=False),
                name="one_start_up_step_per_layout_and_order",
            ),
            models.UniqueConstraint(
                fields=["showroom", "order"],
                condition=Q(layout__isnull=True),
                name="one_start_up_step_per_order",
            ),
            models.CheckConstraint(
                condition=Q(to_day__isnull=True) | Q(to_day__gte=F("from_day")),
                name="a_start_up_step_ends_after_it_begins",
                violation_error_message=_("Last day: not before the first."),
            ),
            models.CheckConstraint(
                condition=Q(change_percent__lte=100, dose_permille__lte=2000),
                name="a_start_up_step_stays_in_bounds",
            ),
        ]
        ordering: ClassVar[list[Any]] = ["order"]

    def __str__(self) -> str:
        return f"day {self.from_day}"

    @property
    def dose_percent(self) -> float:
        """Of the full dose."""
        return self.dose_permille / 10

    @property
    def light_h(self) -> float:
        """Hours of light a day."""
        return self.light_minutes / 60
