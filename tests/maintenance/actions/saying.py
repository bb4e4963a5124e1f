"""A small gallery on a morning, and somebody who says things there by a tablet."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

from gallery_ops.kernel.models import Device, Membership
from gallery_ops.kernel.values.quantity import Mass, Volume
from gallery_ops.kernel.values.uuid7 import uuid7
from inventory.models import Container, Movement
from maintenance.actions.apply import Answer, Sender, apply_batch
from maintenance.models import DueTask, Round, Stop
from maintenance.services import due_tasks
from maintenance.services.rounds import ensure_rounds
from tests.builders import people, stock
from tests.maintenance.house import House, a_carer, a_house, a_tank

ON = date(2026, 3, 12)
AT = datetime(2026, 3, 12, 8, 8, tzinfo=UTC)
LAST_MONTH = AT - timedelta(days=30)


@dataclass
class Morning:
    """The gallery, a carer with a tablet, this morning's round, and a bottle that feeds zone A."""

    house: House
    carer: Membership
    tablet: Device
    round: Round
    bottle: Container
    tub: Container
    seq: int = 0
    sent: list[dict[str, Any]] = field(default_factory=list)

    def say(self, kind: str, body: dict[str, Any], **fields: Any) -> Answer:
        """Send one action now; ``at`` is when it arrives, ``done_at`` when it was done."""
        at = fields.pop("at", AT)
        return self.send([self.action(kind, body, **fields)], at=at)[0]

    def send(self, actions: list[Any], *, at: datetime = AT) -> list[Answer]:
        """Send a batch from the tablet, whose clock is right."""
        sender = Sender(showroom=self.house.showroom, device=self.tablet)
        answers, _received = apply_batch(sender=sender, actions=actions, sent_at=at, at=at)
        return answers

    def action(self, kind: str, body: dict[str, Any], **fields: Any) -> dict[str, Any]:
        """One action, as a tablet makes it."""
        self.seq += 1
        done_at = fields.pop("done_at", AT)
        made = {
            "action_id": str(uuid7(AT)),
            "device_id": str(self.tablet.uid),
            "seq": self.seq,
            "schema": 1,
            "kind": kind,
            "round_id": str(self.round.uid),
            "stop_id": None,
            "task_id": None,
            "person_id": str(self.carer.person.uid),
            "person_proof": "pin",
            "done_at": done_at.isoformat(),
            "monotonic_ms": self.seq,
            "boot_id": str(uuid7(AT)),
            "plan_version": None,
            "corrects": None,
            "body": body,
            **fields,
        }
        self.sent.append(made)
        return made

    def stop(self, tank: str = "T01") -> str:
        """The stop of that tank."""
        return str(Stop.objects.get(round=self.round, tank=self.house.tanks[tank]).uid)

    def task(self, kind: str, tank: str = "T01") -> DueTask:
        """The task of that kind which the opening round has for that tank."""
        found: DueTask = DueTask.objects.get(
            tank=self.house.tanks[tank],
            due_on=ON,
            template__kind=kind,
            template__round_kind="opening",
        )
        return found

    def at_stop(self, kind: str, tank: str = "T01") -> dict[str, str]:
        """The fields that name stop and task."""
        return {"stop_id": self.stop(tank), "task_id": str(self.task(kind, tank).uid)}

    def dose(self, given_ul: int = 3000, tank: str = "T01", **fields: Any) -> Answer:
        """Dose from a cup."""
        body = self.dose_body(given_ul, **fields.pop("body", {}))
        return self.say("dose", body, **{**self.at_stop("dose", tank), **fields})

    def dose_body(self, given_ul: int = 3000, **more: Any) -> dict[str, Any]:
        """What is said of a dose."""
        return {
            "product": str(self.house.fertiliser.uid),
            "source": None,
            "planned_ul": 3000,
            "given_ul": given_ul,
            "presses": None,
            "per_press_ul": None,
            "text": None,
            "again": None,
            "short": None,
            **more,
        }

    def feed_body(self, given_mg: int = 60) -> dict[str, Any]:
        """What is said of food."""
        return {
            "product": str(self.house.food.uid),
            "source": None,
            "planned_mg": 60,
            "given_mg": given_mg,
            "turns": None,
            "text": None,
            "seen_to_drop": True,
        }

    def skip_body(self, kind: str = "dose", reason: str = "short_of_time", **more: Any) -> Any:
        """What is said of a task left out."""
        return {
            "task": str(self.task(kind).uid),
            "reason": reason,
            "text": None,
            "until": None,
            "links": None,
            **more,
        }

    def undo(self, answer: Answer, **fields: Any) -> Answer:
        """Take an entry back."""
        wanted = str(answer.action_id)
        return self.say("undo", {"takes_back": wanted}, corrects=wanted, **fields)

    def level(self, container: Container | None = None) -> int:
        """What the ledger says is in the bottle [base units]."""
        rows = Movement.objects.filter(container=container or self.bottle)
        return sum(row.amount_base for row in rows)


def a_morning(code: str = "undershore") -> Morning:
    """Two planted tanks, a full bottle and a tub, a carer signed off for C1 and C2."""
    house = a_house(code)
    for name in ("T01", "T02"):
        a_tank(house, name)
    bottle = stock.a_bottle(house.fertiliser, capacity=Volume.ml(500), at=LAST_MONTH)
    tub = stock.a_tub(house.food, capacity=Mass.g(100), at=LAST_MONTH)
    stock.feeds(bottle, purpose="dose", zone="A", at=LAST_MONTH)
    stock.feeds(tub, purpose="food", zone="A", at=LAST_MONTH)
    carer = a_carer(house, "Bram Tolliver", "C1", "C2")
    due_tasks.ensure(showroom=house.showroom, at=AT)
    rounds = ensure_rounds(showroom=house.showroom, on=ON, at=AT)
    opening = next(row for row in rows_of(rounds) if row.kind == "opening")
    return Morning(house, carer, people.a_device(house.owner, at=AT), opening, bottle, tub)


def rows_of(rounds: list[Round]) -> list[Round]:
    """The rounds as they stand in the books."""
    return [Round.objects.get(pk=row.pk) for row in rounds]
