"""The planted work in a glass: designer, brief, layout, its versions and the stages of its life."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, Period, ShowroomRow
from tanks.models.tank import Tank


class Designer(ShowroomRow):
    """A credited person, with or without a sign-in."""

    name = models.CharField(max_length=120)
    person = models.ForeignKey(
        "kernel.Person", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    statement = models.TextField(max_length=2000, blank=True)
    contact_private = models.CharField(max_length=200, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "name"],
                condition=Q(voided_at__isnull=True),
                name="one_designer_per_name",
                violation_error_message=_("A designer of this name exists."),
            )
        ]

    def __str__(self) -> str:
        return self.name


class Style(models.TextChoices):
    """How a layout is made, in the words of the trade; targets and drawing follow it."""

    STEM = "stem", _("stem-plant layout")
    STONE = "stone", _("stone layout")
    WOOD = "wood", _("wood layout")
    NO_CO2 = "no_co2", _("layout without CO2")
    SHRIMP = "shrimp", _("soft-water shrimp layout")


class Brief(ShowroomRow):
    """What the next layout of a tank should be."""

    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, related_name="briefs")
    designer = models.ForeignKey(Designer, on_delete=models.PROTECT, null=True, blank=True)
    title = models.CharField(max_length=120, blank=True)
    style = models.CharField(max_length=12, choices=Style.choices, blank=True)
    idea = models.TextField(max_length=2000, blank=True)
    wishes = models.TextField(max_length=1000, blank=True, help_text=_("Species wished for"))
    viewing_sides = models.CharField(max_length=40, blank=True)
    budget_cents = models.PositiveBigIntegerField(null=True, blank=True)
    show_weeks = models.PositiveIntegerField(null=True, blank=True)
    agreed_at = models.DateTimeField(null=True, blank=True)
    must_not = models.TextField(max_length=1000, blank=True)
    target_show_on = models.DateField(null=True, blank=True)
    made_at = models.DateTimeField()
    voided_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.title or f"brief {self.pk}"


class Stage(models.TextChoices):
    """The life of a layout. A vacant tank has no layout, so vacancy is not a stage of one."""

    BRIEFED = "briefed", _("briefed")
    HARDSCAPE = "hardscape", _("hardscape")
    PLANTING = "planting", _("planting")
    START_UP = "start_up", _("start-up")
    GROW_IN = "grow_in", _("grow-in")
    SHOW = "show", _("show")
    RECOVERY = "recovery", _("recovery")
    DECLINE = "decline", _("decline")
    TEARDOWN = "teardown", _("teardown")


class Layout(Period):
    """One planted work in one glass, from its first stone until it is taken out."""

    tank = models.ForeignKey(Tank, on_delete=models.PROTECT, related_name="layouts")
    brief = models.ForeignKey(Brief, on_delete=models.PROTECT, null=True, blank=True)
    designer = models.ForeignKey(Designer, on_delete=models.PROTECT, null=True, blank=True)
    title = models.CharField(max_length=120)
    style = models.CharField(max_length=12, choices=Style.choices, default=Style.STEM)
    profile = models.CharField(
        max_length=8,
        choices=[
            ("valley", _("valley")),
            ("left", _("high on the left")),
            ("right", _("high on the right")),
            ("island", _("island")),
        ],
        default="valley",
    )
    has_co2 = models.BooleanField(default=True)
    flooded_on = models.DateField(null=True, blank=True, help_text=_("Day 0 of the day counter"))
    stage = models.CharField(max_length=12, choices=Stage.choices, default=Stage.BRIEFED)
    inspiration = models.TextField(max_length=2000, blank=True)
    inspired_by = models.CharField(
        max_length=8,
        choices=[("nature", _("nature")), ("work", _("another work"))],
        blank=True,
    )
    reference = models.CharField(max_length=300, blank=True, help_text=_("Place or work"))
    made_different = models.TextField(max_length=1000, blank=True)
    may_change = models.TextField(max_length=1000, blank=True)
    story = models.TextField(max_length=4000, blank=True)
    hard_decision = models.TextField(max_length=1000, blank=True)
    never_change = models.TextField(max_length=1000, blank=True)
    went_wrong = models.TextField(max_length=1000, blank=True)
    difficulty = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1)]
    )
    approved_on = models.DateField(null=True, blank=True)
    approved_as = models.CharField(
        max_length=120, blank=True, help_text=_("The name under which the designer is credited")
    )
    published_at = models.DateTimeField(null=True, blank=True)
    lessons = models.TextField(max_length=2000, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)

    class Meta(Period.Meta):
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.UniqueConstraint(
                fields=["tank"],
                condition=Q(to_at__isnull=True, voided_at__isnull=True),
                name="one_open_layout_per_tank",
                violation_error_message=_("A layout stands in this tank: close it first."),
            ),
            models.CheckConstraint(
                condition=Q(difficulty__isnull=True) | Q(difficulty__gte=1, difficulty__lte=5),
                name="layout_difficulty_is_1_to_5",
                violation_error_message=_("Difficulty: 1 (easy) to 5 (hard)."),
            ),
        ]

    def __str__(self) -> str:
        return self.title


class LayoutVersion(Period):
    """A state of a layout worth a number: 1.0 flooded, minor for plants, major for hardscape."""

    layout = models.ForeignKey(Layout, on_delete=models.PROTECT, related_name="versions")
    major = models.PositiveIntegerField(default=1)
    minor = models.PositiveIntegerField(default=0)
    reason = models.CharField(max_length=200, blank=True)
    frozen_label = models.JSONField(null=True, blank=True)

    class Meta(Period.Meta):
        constraints: ClassVar[list[Any]] = [
            *Period.Meta.constraints,
            models.UniqueConstraint(
                fields=["layout", "major", "minor"], name="one_row_per_layout_version"
            ),
            models.UniqueConstraint(
                fields=["layout"],
                condition=Q(to_at__isnull=True),
                name="one_open_version_per_layout",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.layout} {self.major}.{self.minor}"


class StageChange(Fact):
    """A layout passed into a stage; the evidence for its gate, or who let it pass and why."""

    layout = models.ForeignKey(Layout, on_delete=models.PROTECT, related_name="stage_changes")
    stage_from = models.CharField(max_length=12, choices=Stage.choices, blank=True)
    stage_to = models.CharField(max_length=12, choices=Stage.choices)
    evidence = models.JSONField(default=list, blank=True)
    override_role = models.CharField(max_length=20, blank=True)
    override_reason = models.CharField(max_length=300, blank=True)

    def __str__(self) -> str:
        return f"{self.layout}: {self.stage_to}"
