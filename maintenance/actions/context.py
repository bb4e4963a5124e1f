"""An action with its names looked up: who, where, about what, and when it was so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, TypedDict
from uuid import UUID

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Device, Membership, Showroom
from inventory.models import Item, UsePlan
from maintenance.actions.envelope import Envelope
from maintenance.models import DueTask, Round, Stop
from tanks.models import Tank


class Moments(TypedDict):
    """The arguments that every service of a fact takes."""

    by: Membership
    at: datetime
    done_at: datetime
    done_at_corrected: datetime
    device: Device | None
    action_id: UUID


@dataclass(slots=True)
class Names:
    """Everything that the actions of one batch name, looked up in this showroom in few queries."""

    members: dict[str, Membership] = field(default_factory=dict)
    rounds: dict[str, Round] = field(default_factory=dict)
    stops: dict[str, Stop] = field(default_factory=dict)
    tasks: dict[str, DueTask] = field(default_factory=dict)
    items: dict[str, Item] = field(default_factory=dict)
    plans: dict[str, UsePlan] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Said:
    """One action, ready to be applied."""

    showroom: Showroom
    envelope: Envelope
    names: Names
    by: Membership
    device: Device | None
    done_at_corrected: datetime
    at: datetime

    @property
    def body(self) -> dict[str, Any]:
        """What was said, in the shape of its kind."""
        return self.envelope.body

    def moments(self) -> Moments:
        """Who and when, for a service."""
        return Moments(
            by=self.by,
            at=self.at,
            done_at=self.envelope.done_at,
            done_at_corrected=self.done_at_corrected,
            device=self.device,
            action_id=self.envelope.action_id,
        )

    def round_or_none(self) -> Round | None:
        """The round, when one is named."""
        if not self.envelope.round_id:
            return None
        return _named(self.names.rounds, self.envelope.round_id, "round")

    def stop_or_none(self) -> Stop | None:
        """The stop, when one is named."""
        if not self.envelope.stop_id:
            return None
        return _named(self.names.stops, self.envelope.stop_id, "stop")

    def task(self, uid: str = "") -> DueTask:
        """The task that the body or the envelope names."""
        return _named(self.names.tasks, uid or self.envelope.task_id, "task")

    def tank(self) -> Tank:
        """The tank that it is about: that of the stop, else that of the task."""
        stop = self.stop_or_none()
        if stop is not None and stop.tank is not None:
            return stop.tank
        task = self.names.tasks.get(self.envelope.task_id)
        if task is not None and task.tank is not None:
            return task.tank
        raise _unknown("tank")

    def item(self, uid: str) -> Item:
        """The item that the body names."""
        return _named(self.names.items, uid, "item")


def look_up(showroom: Showroom, envelopes: Iterable[Envelope]) -> Names:
    """All names of a batch in six queries. A stranger's name is missing, like one that is none."""
    batch = list(envelopes)
    tasks = [e.task_id for e in batch] + [str(e.body.get("task") or "") for e in batch]
    return Names(
        members={
            str(row.person.uid): row
            for row in Membership.objects.of(showroom)
            .still()
            .filter(person__uid__in=_uuids(e.person_id for e in batch))
            .select_related("person", "showroom")
        },
        rounds=_by_uid(Round.objects.of(showroom), (e.round_id for e in batch)),
        stops=_by_uid(
            Stop.objects.of(showroom).select_related("tank__showroom", "round"),
            (e.stop_id for e in batch),
        ),
        tasks=_by_uid(
            DueTask.objects.of(showroom).select_related("template", "tank__showroom", "showroom"),
            tasks,
        ),
        items=_by_uid(
            Item.objects.of(showroom).filter(voided_at=None),
            (str(e.body.get("product") or "") for e in batch),
        ),
        plans=_by_uid(UsePlan.objects.of(showroom), (e.plan_version for e in batch)),
    )


def _by_uid(rows: Any, uids: Iterable[str]) -> dict[str, Any]:
    return {str(row.uid): row for row in rows.filter(uid__in=_uuids(uids))}


def _uuids(texts: Iterable[str]) -> set[UUID]:
    found = set()
    for text in texts:
        try:
            found.add(UUID(text))
        except ValueError:
            continue
    return found


def _named(rows: dict[str, Any], uid: str, what: str) -> Any:
    try:
        return rows[str(UUID(uid))]
    except (KeyError, ValueError):
        raise _unknown(what) from None


def _unknown(what: str) -> Held:
    return Held(
        "unknown",
        f"There is no such {what} here.",
        remedy="It is kept. A person can say what it belongs to.",
    )
