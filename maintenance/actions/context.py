"""An action with its names looked up: who, where, about what, and when it was so."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, TypedDict
from uuid import UUID

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Device, Membership, Showroom
from gallery_ops.kernel.values.day import business_day
from inventory.models import Container, Item, UsePlan
from inventory.queries.plans import plan_on, planned_by
from maintenance.actions.envelope import Envelope
from maintenance.models import DueTask, Round, Stop
from tanks.models import Room, Tank
from tanks.queries.glasses import glass_then


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

    members: dict[str, list[Membership]] = field(default_factory=dict)
    rounds: dict[str, Round] = field(default_factory=dict)
    stops: dict[str, Stop] = field(default_factory=dict)
    tasks: dict[str, DueTask] = field(default_factory=dict)
    items: dict[str, Item] = field(default_factory=dict)
    plans: dict[str, UsePlan] = field(default_factory=dict)

    def member(self, person_uid: str, moment: datetime) -> Membership | None:
        """What this person was here at that moment; None for somebody who did not work here."""
        for row in self.members.get(person_uid.lower(), []):
            if row.from_at <= moment and (row.to_at is None or moment < row.to_at):
                return row
        return None


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
    waived: frozenset[str] = frozenset()
    """Codes that a person let pass who may: what they stand for is so, and counts."""

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
        """The task that body or envelope names; of the tank of the stop, if one is named."""
        task: DueTask = _named(self.names.tasks, uid or self.envelope.task_id, "task")
        stop = self.stop_or_none()
        if stop is not None and _is_elsewhere(task, stop, self.done_at_corrected):
            raise Held(
                "task_elsewhere",
                "The task belongs to another tank or room than the stop.",
                remedy="Look which it was. It is kept.",
            )
        return task

    def room_or_none(self) -> Room | None:
        """The room that it is about, where the stop is one."""
        stop = self.stop_or_none()
        return stop.room if stop is not None else None

    def tank(self) -> Tank:
        """The tank that it is about, in the glass of then: that of the stop, else of the task."""
        stop = self.stop_or_none()
        if stop is not None and stop.tank is not None:
            return glass_then(stop.tank, self.done_at_corrected)
        task = self.names.tasks.get(self.envelope.task_id)
        if task is not None and task.tank is not None:
            return glass_then(task.tank, self.done_at_corrected)
        raise _unknown("tank")

    def item(self, uid: str) -> Item:
        """The item that the body names."""
        return _named(self.names.items, uid, "item")

    def container(self, code: str) -> Container:
        """The container of that code, with item and lot."""
        found: Container | None = (
            Container.objects.of(self.showroom)
            .filter(code=code, voided_at=None)
            .select_related("item", "lot", "showroom")
            .first()
        )
        if found is None:
            raise Held(
                "unknown", "There is no such container here.", remedy="Scan its label again."
            )
        return found

    def plan(self, tank: Tank, item: Item) -> UsePlan | None:
        """The version of the plan that was followed, if it is one of this tank and item."""
        found = self.names.plans.get(self.envelope.plan_version.lower())
        if found is None or (found.tank_id, found.item_id) != (tank.pk, item.pk):
            return None
        return found

    def planned_base(self, tank: Tank, item: Item, purpose: str) -> int:
        """What that version, or the one in force then, says for that day [base units]."""
        showroom = self.showroom
        day = business_day(self.done_at_corrected, showroom.tz, showroom.cut_off_hour)
        plan = self.plan(tank, item) or plan_on(showroom, tank, item, purpose, day)
        return planned_by(plan, day) if plan is not None else 0


def _is_elsewhere(task: DueTask, stop: Stop, moment: datetime) -> bool:
    """Another tank than the stop's, whichever glass it had, or another room than the one it is."""
    if task.tank is not None and stop.tank is not None and stop.tank != task.tank:
        return glass_then(task.tank, moment) != glass_then(stop.tank, moment)
    return bool(stop.room_id and (task.tank_id or task.room_id not in {None, stop.room_id}))


def look_up(showroom: Showroom, envelopes: Iterable[Envelope]) -> Names:
    """All names of a batch in six queries. A stranger's name is missing, like one that is none."""
    batch = list(envelopes)
    tasks = [e.task_id for e in batch] + [str(e.body.get("task") or "") for e in batch]
    return Names(
        members=_members(showroom, _uuids(e.person_id for e in batch)),
        rounds=_by_uid(Round.objects.of(showroom), (e.round_id for e in batch)),
        stops=_by_uid(
            Stop.objects.of(showroom).select_related("tank__showroom", "round", "room__showroom"),
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


def _members(showroom: Showroom, uids: set[UUID]) -> dict[str, list[Membership]]:
    found: dict[str, list[Membership]] = {}
    rows = Membership.objects.of(showroom).filter(person__uid__in=uids)
    for row in rows.select_related("person", "showroom").order_by("-from_at"):
        found.setdefault(str(row.person.uid), []).append(row)
    return found


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
