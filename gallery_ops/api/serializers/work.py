"""Alerts, due tasks and rounds as programs read them."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from gallery_ops.api.serializers.amount import Described
from gallery_ops.kernel.models import Alert
from maintenance.models import DueTask, Round, TaskTemplate
from maintenance.queries.listing import is_task_late


def _choices(model: Any, name: str) -> Any:
    return model._meta.get_field(name).choices


class SubjectSerializer(serializers.Serializer[Any]):
    """What something is about."""

    kind = serializers.CharField()
    code = serializers.CharField()


class AlertSerializer(Described):
    """Something that needs a person; it closes by itself when its cause is gone."""

    uid = serializers.UUIDField()
    kind = serializers.CharField()
    harm_class = serializers.ChoiceField(choices=_choices(Alert, "harm_class"))
    state = serializers.SerializerMethodField()
    subject = serializers.SerializerMethodField()
    sentence = serializers.CharField()
    because = serializers.ListField(child=serializers.DictField())
    order_by_on = serializers.DateField(allow_null=True)
    opened_at = serializers.DateTimeField()
    closed_at = serializers.DateTimeField(allow_null=True)
    acknowledged_at = serializers.DateTimeField(allow_null=True)
    acknowledged_by = serializers.SerializerMethodField()

    @extend_schema_field(serializers.ChoiceField(choices=["open", "closed"]))
    def get_state(self, row: Any) -> str:
        """Open while its cause stands."""
        return "open" if row.closed_at is None else "closed"

    @extend_schema_field(SubjectSerializer)
    def get_subject(self, row: Any) -> dict[str, str]:
        """Kind and code of what it is about; the code is empty when that is gone."""
        known = self.context["codes"].get(row.subject_key)
        own = "" if row.subject_kind in {"container", "item"} else row.subject_key
        return {"kind": row.subject_kind, "code": own if known is None else known}

    def get_acknowledged_by(self, row: Any) -> str | None:
        """Who takes care of it."""
        return row.acknowledged_by.name if row.acknowledged_by else None


class DueTaskSerializer(Described):
    """One occurrence of a task."""

    uid = serializers.UUIDField()
    key = serializers.CharField(source="template.key")
    name = serializers.CharField(source="template.name")
    kind = serializers.ChoiceField(source="template.kind", choices=_choices(TaskTemplate, "kind"))
    harm_class = serializers.ChoiceField(
        source="template.harm_class", choices=_choices(TaskTemplate, "harm_class")
    )
    skill = serializers.ChoiceField(
        source="template.skill", choices=_choices(TaskTemplate, "skill")
    )
    round_kind = serializers.CharField(source="template.round_kind", allow_blank=True)
    tank = serializers.CharField(source="tank_code", allow_null=True)
    zone = serializers.SerializerMethodField()
    room = serializers.SerializerMethodField()
    due_on = serializers.DateField()
    due_at = serializers.DateTimeField()
    state = serializers.ChoiceField(choices=_choices(DueTask, "state"))
    is_late = serializers.SerializerMethodField()
    rests_until_at = serializers.DateTimeField(allow_null=True)

    def get_zone(self, row: Any) -> str | None:
        """Letter of the zone, where the task is about one."""
        return row.zone.code if row.zone else None

    def get_room(self, row: Any) -> str | None:
        """Name of the room, where the task is about one."""
        return row.room.name if row.room else None

    def get_is_late(self, row: Any) -> bool:
        """Open and past the time of its class."""
        return is_task_late(self.asker.showroom, row, self.context["at"])


class RoundSerializer(Described):
    """A walk through one zone."""

    uid = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=_choices(Round, "kind"))
    zone = serializers.CharField()
    business_on = serializers.SerializerMethodField()
    state = serializers.ChoiceField(choices=["to_do", "half", "done"])
    person = serializers.SerializerMethodField()
    opened_at = serializers.DateTimeField(allow_null=True)
    closed_at = serializers.DateTimeField(allow_null=True)
    places = serializers.IntegerField()
    to_see = serializers.IntegerField()
    seen = serializers.IntegerField()
    tasks = serializers.IntegerField()
    done = serializers.IntegerField()
    pack = serializers.SerializerMethodField()

    @extend_schema_field(serializers.DateField())
    def get_business_on(self, row: Any) -> str:
        """The business day of the round."""
        found: str = self.context["on"].isoformat()
        return found

    def get_person(self, row: Any) -> str | None:
        """Who began it."""
        return row.person or None

    def get_pack(self, row: Any) -> str:
        """Address of its pack."""
        return f"/api/v1/rounds/{row.uid}/pack"


class RoundQuerySerializer(serializers.Serializer[Any]):
    """Which rounds are asked for."""

    on = serializers.DateField(required=False, help_text="Business day; today when left out.")
    kind = serializers.ChoiceField(required=False, choices=_choices(Round, "kind"))
    zone = serializers.CharField(required=False, max_length=8, help_text="Letter of the zone.")
    state = serializers.ChoiceField(required=False, choices=["to_do", "half", "done"])
