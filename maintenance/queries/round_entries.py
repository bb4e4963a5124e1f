"""What was entered in a round already, and what changed since a person was last here?"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import OuterRef, Q, Subquery
from django.utils.translation import gettext as _

from gallery_ops.kernel.models import AuditEntry, Person, Showroom
from gallery_ops.kernel.values.day import local
from inventory.models import Use
from maintenance.models import Action, Observation, Round, Shift, Stop, Verdict
from tanks.queries.glasses import now_in, replaced

Json = dict[str, Any]
LOOK_BACK = timedelta(days=7)
LATE_ENTRY = timedelta(hours=12)
"""An entry that came later than this after the deed says so wherever it is read."""
PAPER = "paper"
"""Says itself to be the device of what was typed in from a printed round."""
ANEW = {"move_record": "moves", "amend": "amends"}
"""Kinds of entry that put another one right, and the field that names it."""
KEY_LONG = 20
"""So much of a stop's id an action is found by."""
SHOWN = {"check", "unable", "dose", "feed", "complete", "skip", "animal", "note", "photo"}


def entries_of_round(round_: Round, stops: Iterable[Stop] = ()) -> dict[str, list[Json]]:
    """What was said at each stop and still holds, oldest first, by the stop's uid; two queries.

    stops : of these also what was said on another walk of that day, which took it along
    """
    newest = Verdict.objects.filter(action=OuterRef("pk")).order_by("-pk")
    rows = list(
        Action.objects.of(round_.showroom)
        .filter(Q(round_code=round_.code) | _on_other_walks(round_, stops))
        .annotate(
            outcome=Subquery(newest.values("outcome")[:1]),
            why=Subquery(newest.values("sentence")[:1]),
        )
        .select_related("person")
        .order_by("done_at_corrected", "pk")
    )
    said = [(row, json.loads(row.canonical)) for row in rows if row.kind in SHOWN | {"undo", *ANEW}]
    undone = {
        body["body"]["takes_back"]
        for row, body in said
        if row.kind == "undo" and row.outcome == "accepted"
    }
    corrected = {
        body["body"][ANEW[row.kind]]: (row, body)
        for row, body in said
        if row.kind in ANEW and row.outcome == "accepted"
    }
    anew = _anew(round_.showroom, {str(row.action_id) for row, _body in corrected.values()})
    kinds = {str(row.action_id): row.kind for row, _body in said}
    found: dict[str, list[Json]] = defaultdict(list)
    for row, body in said:
        if row.kind == "undo" or str(row.action_id) in undone:
            continue
        if row.outcome not in {"accepted", "held"}:
            continue
        now = anew.get(str(row.action_id))
        if row.kind in ANEW and (now is None or row.outcome == "held"):
            continue
        entry = _entry(row, body)
        after: Json = (now.after if now is not None else None) or {}
        if now is not None:
            entry |= {
                "kind": _root_kind(str(row.action_id), corrected, kinds),
                "corrects": now.subject_key,
            }
            entry |= {"task_id": after["task"] or None, "body": after["body"]}
        later = corrected.get(str(row.action_id))
        if later is not None and str(later[0].action_id) not in undone:
            # both lines stay: this one says where it went or what it became
            entry["became"] = {"kind": later[0].kind, **later[1]["body"]}
        elif later is not None:
            continue
        found[(after["stop"] if now is not None else body["stop_id"]) or ""].append(entry)
    return found


def _on_other_walks(round_: Round, stops: Iterable[Stop]) -> Q:
    """Entries at these stops in other rounds of that day; one query for their codes."""
    keys = [str(stop.uid)[:KEY_LONG] for stop in stops]
    codes = (
        Round.objects.of(round_.showroom)
        .filter(business_on=round_.business_on, kind=round_.kind)
        .exclude(pk=round_.pk)
        .values_list("code", flat=True)
    )
    return Q(round_code__in=list(codes), stop_key__in=keys)


def _entry(row: Action, body: Json) -> Json:
    entry: Json = {
        "action_id": str(row.action_id),
        "kind": row.kind,
        "task_id": body["task_id"],
        "person_id": body["person_id"],
        "done_at": row.done_at_corrected.isoformat() if row.done_at_corrected else body["done_at"],
        "body": body["body"],
    }
    if body["device_id"] == PAPER:
        entry["paper"] = True
    outcome = getattr(row, "outcome", None)
    if outcome == "held":
        entry["verdict"] = "held"
        why = getattr(row, "why", "")
        entry |= {"why": why} if why else {}
    if row.done_at_corrected and row.entered_at - row.done_at_corrected > LATE_ENTRY:
        entry["entered_late"] = True
    return entry


def _anew(showroom: Showroom, wanted: set[str]) -> dict[str, AuditEntry]:
    """How what was put right reads now, by the id of the entry that did it; one query."""
    if not wanted:
        return {}
    rows = AuditEntry.objects.filter(
        showroom=showroom, deed__in=[f"entry.{kind}" for kind in ANEW], after__action__in=wanted
    )
    return {row.after["action"]: row for row in rows}


def _root_kind(action_id: str, corrected: dict[str, Any], kinds: dict[str, str]) -> str:
    """What kind of entry it was before anybody put it right."""
    before = {str(row.action_id): wanted for wanted, (row, _body) in corrected.items()}
    for _step in before:
        if action_id not in before:
            break
        action_id = before[action_id]
    return kinds.get(action_id, "note")


def given_today(round_: Round, tank_ids: Iterable[int]) -> dict[tuple[int, int], list[Json]]:
    """What these tanks were given on the day of this round outside of it, by tank and item.

    What a tank was given in the glass that it had before counts to the one that stands now.
    """
    stand = set(tank_ids)
    after = replaced(round_.showroom)
    now = {key: now_in(after, key) for key in {*after, *stand}}
    mine = set(
        Action.objects.of(round_.showroom)
        .filter(round_code=round_.code)
        .values_list("action_id", flat=True)
    )
    rows = (
        Use.objects.of(round_.showroom)
        .standing()
        .filter(
            business_on=round_.business_on,
            tank_id__in=[key for key, last in now.items() if key in stand or last in stand],
            given_base__gt=0,
        )
        .select_related("person")
        .order_by("done_at_corrected")
    )
    found: dict[tuple[int, int], list[Json]] = defaultdict(list)
    for row in rows:
        if row.action_id in mine:
            continue
        tank_id = row.tank_id if row.tank_id in stand else now[row.tank_id]
        found[(tank_id, row.item_id)].append(
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
