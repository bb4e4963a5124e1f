"""What was entered for one tank lately, and what became of it: both lines of a correction."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import OuterRef, Q, Subquery

from gallery_ops.kernel.models import AuditEntry, Showroom
from maintenance.models import Action, Stop, Verdict
from maintenance.queries.round_entries import ANEW

LOOK_BACK = timedelta(days=7)
MOST = 60
KINDS = ("check", "unable", "dose", "feed", "complete", "skip", "animal", "note")

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class TankEntry:
    """One line of the tank. kind, body : as it reads now; said : as it was sent the first time.

    became : empty while it stands, else ``move_record``, ``amend`` or ``undo``; then reason, by
    whom and where it went.
    """

    action_id: str
    kind: str
    body: Json
    said: Json
    person_uid: str
    person: str
    done_at: datetime
    became: str = ""
    reason: str = ""
    by: str = ""
    to_stop: str = ""


def entries_of_tank(showroom: Showroom, tank_id: int, at: datetime) -> list[TankEntry]:
    """The accepted entries of the last seven days at this tank, newest first; four queries."""
    since = at - LOOK_BACK
    stops = {
        str(uid): code
        for uid, code in Stop.objects.filter(
            tank_id=tank_id, round__showroom=showroom, round__business_on__gte=since.date()
        ).values_list("uid", "round__code")
    }
    audits = [
        row
        for row in AuditEntry.objects.filter(
            showroom=showroom, deed__in=[f"entry.{kind}" for kind in ANEW], at__gte=since
        )
        .select_related("person")
        .order_by("pk")
        if {row.before.get("stop"), row.after.get("stop")} & set(stops)
    ]
    newest = Verdict.objects.filter(action=OuterRef("pk")).order_by("-pk").values("outcome")[:1]
    named = {row.after["action"] for row in audits} | {row.subject_key for row in audits}
    rows = list(
        Action.objects.of(showroom)
        .filter(
            Q(round_code__in=set(stops.values()), stop_key__in=[uid[:20] for uid in stops])
            | Q(action_id__in=named)
        )
        .filter(kind__in=[*KINDS, *ANEW, "undo"])
        .annotate(outcome=Subquery(newest))
        .filter(outcome="accepted")
        .select_related("person")
        .order_by("-done_at_corrected", "-pk")
    )
    return _Lines(stops, audits, rows).all()


class _Lines:
    """What was read, and how each line of it reads."""

    def __init__(self, stops: dict[str, str], audits: list[Any], rows: list[Any]) -> None:
        self.stops = stops
        self.result = {row.after["action"]: row for row in audits}
        self.later = {row.subject_key: row for row in audits}
        self.rows = rows
        self.by_id = {str(row.action_id): row for row in rows}
        self.undone = {
            json.loads(row.canonical)["body"]["takes_back"]: row
            for row in rows
            if row.kind == "undo"
        }

    def all(self) -> list[TankEntry]:
        lines = [line for row in self.rows if (line := self._line(row)) is not None]
        return lines[:MOST]

    def _root(self, key: str) -> Any:
        for _step in range(len(self.result) + 1):
            if key not in self.result:
                break
            key = self.result[key].subject_key
        return self.by_id.get(key)

    def _line(self, row: Any) -> TankEntry | None:
        key = str(row.action_id)
        made, root = self.result.get(key), self._root(key)
        if row.kind == "undo" or root is None or (row.kind in ANEW and made is None):
            return None
        said: Json = json.loads(root.canonical)
        stop = made.after["stop"] if made else json.loads(row.canonical)["stop_id"]
        if stop not in self.stops or root.person is None:
            return None
        later: Any = self.later.get(key)
        undo: Any = self.undone.get(key)
        if later is not None and later.after["action"] in self.undone:
            later, undo = None, self.undone[later.after["action"]]
        return TankEntry(
            action_id=key,
            kind=root.kind,
            body=made.after["body"] if made else said["body"],
            said=said,
            person_uid=str(root.person.uid),
            person=root.person.given_name,
            done_at=root.done_at_corrected or root.entered_at,
            became=later.deed.removeprefix("entry.") if later else "undo" if undo else "",
            reason=later.reason if later else "",
            by=self._by(later, undo),
            to_stop=later.after["stop"] if later else "",
        )

    def _by(self, later: Any, undo: Any) -> str:
        if later is not None:
            return later.person.given_name if later.person else ""
        return undo.person.given_name if undo is not None and undo.person else ""
