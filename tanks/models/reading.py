"""What is measured, in which unit and within which ranges; and what somebody read."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, ShowroomRow
from tanks.models.tank import Tank


class Parameter(models.Model):
    """A measured quantity: unit, step and default ranges. Shared by all showrooms."""

    key = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=80)
    unit = models.CharField(max_length=20, blank=True, help_text=_("UCUM code"))
    unit_text = models.CharField(max_length=20, blank=True)
    kind = models.CharField(
        max_length=8, choices=[("number", _("number")), ("list", _("list"))], default="number"
    )
    words = models.JSONField(default=list, blank=True, help_text=_("Allowed words of a list"))
    step = models.FloatField(default=1)
    hard_low = models.FloatField(null=True, blank=True)
    hard_high = models.FloatField(null=True, blank=True)
    ask_low = models.FloatField(null=True, blank=True)
    ask_high = models.FloatField(null=True, blank=True)
    alarm_low = models.FloatField(null=True, blank=True)
    alarm_high = models.FloatField(null=True, blank=True)
    alarm_words = models.JSONField(default=list, blank=True)
    basis = models.CharField(max_length=20, blank=True)
    source = models.CharField(max_length=200, blank=True)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering: ClassVar[list[Any]] = ["order", "key"]

    def __str__(self) -> str:
        return self.name


class ParameterRange(ShowroomRow):
    """Other ranges for a style or for one tank; an empty field leaves the default in force."""

    parameter = models.ForeignKey(Parameter, on_delete=models.PROTECT, related_name="ranges")
    style = models.CharField(max_length=12, blank=True)
    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, null=True, blank=True)
    ask_low = models.FloatField(null=True, blank=True)
    ask_high = models.FloatField(null=True, blank=True)
    alarm_low = models.FloatField(null=True, blank=True)
    alarm_high = models.FloatField(null=True, blank=True)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "parameter", "tank"],
                condition=Q(tank__isnull=False),
                name="one_range_per_parameter_and_tank",
            ),
            models.UniqueConstraint(
                fields=["showroom", "parameter", "style"],
                condition=Q(tank__isnull=True),
                name="one_range_per_parameter_and_style",
            ),
            models.CheckConstraint(
                condition=Q(tank__isnull=False) | ~Q(style=""),
                name="parameter_range_names_a_style_or_a_tank",
                violation_error_message=_("Choose a style or a tank for these ranges."),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.parameter}, {self.tank or self.style}"


class Reading(Fact):
    """A number or a word that somebody read, as typed and normalised; numbers are never merged."""

    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, related_name="readings")
    parameter = models.ForeignKey(Parameter, on_delete=models.PROTECT, related_name="readings")
    value = models.FloatField(null=True, blank=True)
    word = models.CharField(max_length=40, blank=True)
    qualifier = models.CharField(
        max_length=1, choices=[("=", "="), ("<", "<"), (">", ">")], default="="
    )
    basis = models.CharField(max_length=20, blank=True)
    text_as_typed = models.CharField(max_length=40)
    unit_as_typed = models.CharField(max_length=20, blank=True)
    method = models.CharField(max_length=80, blank=True)
    reagent_lot = models.CharField(max_length=40, blank=True)
    light_phase = models.CharField(
        max_length=8, choices=[("on", _("lights on")), ("off", _("lights off"))], blank=True
    )
    asked_again = models.BooleanField(default=False)
    reason = models.CharField(
        max_length=200, blank=True, help_text=_("Why it stands instead of the one it corrects")
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(value__isnull=False) | ~Q(word=""),
                name="reading_has_a_number_or_a_word",
                violation_error_message=_("Write the number that you read, or choose the word."),
            ),
            models.UniqueConstraint(
                fields=["showroom", "action_id", "parameter"],
                condition=Q(action_id__isnull=False),
                name="one_reading_per_action_and_parameter",
            ),
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(
                fields=["showroom", "tank", "parameter", "-done_at_corrected"],
                name="readings_of_tank",
            )
        ]

    def __str__(self) -> str:
        return f"{self.parameter} {self.text_as_typed}"
