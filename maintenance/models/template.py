"""What has to be done again and again: task templates, and the due tasks made from them."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gallery_ops.kernel.models import Fact, HarmClass, Named, ShowroomRow
from gallery_ops.kernel.models.person import Skill
from tanks.models import Room, Tank, Zone


class Scope(models.TextChoices):
    """What one due task of a template is about."""

    TANK = "tank", _("each tank")
    ZONE = "zone", _("each zone")
    ROOM = "room", _("each room")
    FLEET = "fleet", _("the whole gallery")


class TaskTemplate(ShowroomRow):
    """How often, by whom and how long; a version in force is closed, never edited."""

    key = models.SlugField(max_length=40)
    version = models.PositiveIntegerField(default=1)
    name = models.CharField(max_length=120)
    scope = models.CharField(max_length=6, choices=Scope.choices)
    kind = models.CharField(
        max_length=12,
        choices=[
            ("look", _("look")),
            ("feed", _("feed")),
            ("dose", _("dose")),
            ("weigh", _("weigh")),
            ("work", _("work")),
        ],
        default="work",
    )
    rule = models.CharField(max_length=200, help_text=_("RFC 5545 recurrence on local dates"))
    counts_from = models.CharField(
        max_length=8,
        choices=[
            ("due", _("from due")),
            ("done", _("from done")),
            ("flooding", _("from the day of flooding")),
        ],
        default="due",
    )
    from_day = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("First day of the layout, counted from flooding")
    )
    to_day = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("Last day of the layout, empty for as long as it lasts")
    )
    is_spread = models.BooleanField(
        default=False, help_text=_("Each tank gets one weekday of the rule's list")
    )
    on_closed_day = models.CharField(
        max_length=7,
        choices=[("keep", _("stays")), ("earlier", _("earlier")), ("later", _("later"))],
        default="keep",
    )
    only_with = models.CharField(
        max_length=12, blank=True, help_text=_("No such plan or thing, no task")
    )
    due_time = models.TimeField(
        null=True,
        blank=True,
        help_text=_("Local time by which it should be done; empty for any time of that day"),
    )
    round_kind = models.CharField(max_length=8, blank=True)
    stages = models.JSONField(default=list, blank=True, help_text=_("Stages in which it is due"))
    harm_class = models.CharField(max_length=1, choices=HarmClass.choices)
    skill = models.CharField(max_length=2, choices=Skill.choices, default=Skill.C1)
    minutes_by_size = models.JSONField(default=dict, blank=True)
    questions = models.JSONField(default=list, blank=True)
    catalogue_digest = models.CharField(
        max_length=64,
        blank=True,
        help_text=_("The catalogue row it was made from; empty: a person"),
    )
    from_on = models.DateField()
    to_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "key", "version"], name="one_row_per_template_version"
            ),
            models.UniqueConstraint(
                fields=["showroom", "key"],
                condition=Q(to_on__isnull=True),
                name="one_open_template_per_key",
            ),
            models.CheckConstraint(
                condition=Q(harm_class__in=HarmClass.values), name="template_harm_class_is_known"
            ),
            models.CheckConstraint(
                condition=~Q(harm_class=HarmClass.A) | Q(on_closed_day="keep"),
                name="class_a_never_moves_for_a_closed_day",
                violation_error_message=_("A task of class A stays on its day, closed or not."),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class DueTask(Named, ShowroomRow):
    """One occurrence of a template for one subject. What became of it follows from its facts."""

    template = models.ForeignKey(TaskTemplate, on_delete=models.PROTECT, related_name="due_tasks")
    tank = models.ForeignKey(
        Tank, on_delete=models.PROTECT, null=True, blank=True, related_name="due_tasks"
    )
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, null=True, blank=True)
    room = models.ForeignKey(Room, on_delete=models.PROTECT, null=True, blank=True)
    subject_key = models.CharField(max_length=40, help_text=_("tank:7, zone:1, room:2 or fleet"))
    occurrence_key = models.CharField(max_length=20)
    due_on = models.DateField()
    due_at = models.DateTimeField()
    state = models.CharField(
        max_length=8,
        choices=[
            ("open", _("to do")),
            ("done", _("done")),
            ("skipped", _("skipped")),
            ("dropped", _("no longer due")),
        ],
        default="open",
    )
    rests_until_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["template", "subject_key", "occurrence_key"],
                name="one_due_task_per_occurrence",
            )
        ]
        indexes: ClassVar[list[Any]] = [
            models.Index(fields=["showroom", "state", "due_at"], name="due_tasks_open"),
            models.Index(fields=["showroom", "due_on"], name="due_tasks_of_day"),
            models.Index(fields=["tank", "due_on"], name="due_tasks_of_tank"),
        ]

    def __str__(self) -> str:
        return f"{self.template} {self.subject_key} {self.occurrence_key}"


class Completion(Fact):
    """A due task was done. The earliest that stands completes it, others are extra looks."""

    due_task = models.ForeignKey(DueTask, on_delete=models.PROTECT, related_name="completions")
    minutes = models.PositiveIntegerField(null=True, blank=True)
    answers = models.JSONField(default=dict, blank=True)
    entered_late = models.BooleanField(default=False)
    to_confirm = models.BooleanField(
        default=False, help_text=_("Done without network, where a PIN names but does not prove")
    )

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.UniqueConstraint(
                fields=["showroom", "action_id", "due_task"],
                condition=Q(action_id__isnull=False),
                name="one_completion_per_action_and_task",
            )
        ]

    def __str__(self) -> str:
        return f"{self.due_task} done"


class CompletionConfirmed(Fact):
    """Somebody who may vouches for work that was signed for where nothing could prove it."""

    completion = models.OneToOneField(
        Completion, on_delete=models.PROTECT, related_name="confirmed"
    )
    was_so = models.BooleanField(default=True)
    text = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"{self.completion_id}: {'so' if self.was_so else 'not so'}"


class SkipReason(models.TextChoices):
    """The twelve reasons; each has its effect in ``maintenance.actions.skip``."""

    NOT_NEEDED = "not_needed", _("not needed")
    SHORT_OF_TIME = "short_of_time", _("short of time")
    NEEDS_SKILL = "needs_skill", _("needs higher skill")
    OUT_OF_STOCK = "out_of_stock", _("out of stock")
    TOOL_BROKEN = "tool_broken", _("tool broken")
    ANIMALS_REST = "animals_rest", _("animals must not be disturbed")
    EVENT = "event", _("filming or event")
    TANK_EMPTY = "tank_empty", _("tank empty or out of service")
    DANGER = "danger", _("stopped because of danger")
    ALREADY_DONE = "already_done", _("already done by somebody")
    NO_SUPPLY = "no_supply", _("no water or power")
    OTHER = "other", _("another reason")


class Skip(Fact):
    """A due task was left out, with a reason that has an effect."""

    due_task = models.ForeignKey(DueTask, on_delete=models.PROTECT, related_name="skips")
    reason = models.CharField(max_length=20, choices=SkipReason.choices)
    text = models.CharField(max_length=500, blank=True)
    until_at = models.DateTimeField(null=True, blank=True)
    links_to = models.CharField(max_length=60, blank=True)

    class Meta:
        constraints: ClassVar[list[Any]] = [
            models.CheckConstraint(
                condition=Q(reason__in=SkipReason.values), name="skip_reason_is_known"
            ),
            models.UniqueConstraint(
                fields=["showroom", "action_id", "due_task"],
                condition=Q(action_id__isnull=False),
                name="one_skip_per_action_and_task",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.due_task}: {self.reason}"
