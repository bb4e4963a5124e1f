"""What was entered in a round already, and what changed since a person was last here?"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import OuterRef, Subquery
from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Person, Showroom
from gallery_ops.kernel.values.day import local
from inventory.models import Use
from maintenance.models import Action, Observation, Round, Shift, Verdict

Json = dict[str, Any]
LOOK_BACK = timedelta(days=7)
LATE_ENTRY = timedelta(hours=12)
"""An entry that came later than this after the deed says so wherever it is read."""
PAPER = "paper"
"""Says itself to be the device of what was typed in from a printed round."""
SHOWN = {"check", "unable", "dose", "feed", "complete", "skip", "animal", "note", "photo"}


def entries_of_round(round_: Round) -> dict[str, list[Json]]:
    """What was said at each stop and still holds, oldest first, by the stop's uid; one query."""
    newest = Verdict.objects.filter(action=OuterRef("pk")).order_by("-pk").values("outcome")[:1]
    rows = list(
        Action.objects.of(round_.showroom)
        .filter(round_code=round_.code)
        .annotate(outcome=Subquery(newest))
        .select_related("person")
        .order_by("done_at_corrected", "pk")
    )
    said = [(row, json.loads(row.canonical)) for row in rows if row.kind in SHOWN | {"undo"}]
    undone = {
        body["body"]["takes_back"]
        for row, body in said
        if row.kind == "undo" and row.outcome == "accepted"
    }
    found: dict[str, list[Json]] = defaultdict(list)
    for row, body in said:
        hidden = row.kind == "undo" or str(row.action_id) in undone
        if hidden or row.outcome not in {"accepted", "held"}:
            continue
        entry: Json = {
            "action_id": str(row.action_id),
            "kind": row.kind,
            "task_id": body["task_id"],
            "person_id": body["person_id"],
            "done_at": row.done_at_corrected.isoformat()
            if row.done_at_corrected
            else body["done_at"],
            "body": body["body"],
        }
        if body["device_id"] == PAPER:
            entry["paper"] = True
        if row.outcome == "held":
            entry["verdict"] = "held"
        if row.done_at_corrected and row.entered_at - row.done_at_corrected > LATE_ENTRY:
            entry["entered_late"] = True
        found[body["stop_id"] or ""].append(entry)
    return found


def given_today(round_: Round, tank_ids: Iterable[int]) -> dict[tuple[int, int], list[Json]]:
    """What these tanks were given on the day of this round outside of it, by tank and item."""
    mine = set(
        Action.objects.of(round_.showroom)
        .filter(round_code=round_.code)
        .values_list("action_id", flat=True)
    )
    rows = (
        Use.objects.of(round_.showroom)
        .standing()
        .filter(business_on=round_.business_on, tank_id__in=list(tank_ids), given_base__gt=0)
        .select_related("person")
        .order_by("done_at_corrected")
    )
    found: dict[tuple[int, int], list[Json]] = defaultdict(list)
    for row in rows:
        if row.action_id in mine:
            continue
        found[(row.tank_id, row.item_id)].append(
            {
                "amount": row.given_base,
                "at": row.done_at_corrected.isoformat(),
                "by": row.person.given_name,
                "action_id": str(row.action_id) if row.action_id else None,
            }
        )
    return found


def undone_in_round(round_: Round) -> frozenset[str]:
    """Ids of what was entered in this round and taken back; one query."""
    texts = (
        Action.objects.of(round_.showroom)
        .filter(round_code=round_.code, kind="undo")
        .values_list("canonical", flat=True)
    )
    return frozenset(json.loads(text)["body"]["takes_back"] for text in texts)


def since_last_shift(
    showroom: Showroom, person: Person, tank_ids: Iterable[int], at: datetime
) -> tuple[date | None, dict[int, list[str]]]:
    """The day of this person's last shift before now, and what was noted on each tank since then.

    Without a shift in the books, of the last seven days.
    """
    last = (
        Shift.objects.of(showroom)
        .filter(person=person, voided_at=None, to_at__lt=at)
        .order_by("-to_at")
        .first()
    )
    since = last.to_at if last else at - LOOK_BACK
    rows = (
        Observation.objects.of(showroom)
        .standing()
        .filter(tank_id__in=list(tank_ids), done_at_corrected__gt=since)
        .exclude(text="")
        .select_related("person")
        .order_by("-done_at_corrected")
    )
    found: dict[int, list[str]] = defaultdict(list)
    for row in rows:
        day = local(row.done_at_corrected, showroom.tz)
        found[row.tank_id].append(
            _("%(text)s (%(who)s, %(day)s)")
            % {"text": row.text, "who": row.person.given_name, "day": day.strftime("%a")}
        )
    return (local(last.from_at, showroom.tz).date() if last else None), found
