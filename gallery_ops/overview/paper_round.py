"""A round on paper: its sheet to be printed, and what was written on it typed in afterwards.

Everything typed goes through the desk's door, stop by stop, with the time that was written; each
box has an id of its own, so that the same sheet typed in twice counts once. The entries say that
they come from paper, carry the name of whoever typed them, and a note names whoever walked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.drawing import Detail
from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.models import Membership
from gallery_ops.overview.drawings import addresses, shapes
from maintenance.actions.desk import PAPER, Deed, say_all_at_desk
from maintenance.models import Round
from maintenance.queries.round_entries import undone_in_round
from maintenance.queries.round_pack import round_pack
from maintenance.schedule.paper import Row, sheet
from maintenance.schedule.paper_typed import Entry, Wrong, entry_id, read_stop, read_time

Json = dict[str, Any]
LATE = timedelta(hours=12)
"""What is entered later than this is marked as entered late and never counts as on time."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The round as it is printed. people : (uid, name) of whoever may have walked it."""

    pack: Json
    rows: list[Row]
    people: list[tuple[str, str]]


@dataclass(slots=True)
class Outcome:
    """What became of a sheet that was typed in.

    entered, known, late : codes of stops. wrong : field name -> sentence.
    """

    entered: list[str] = field(default_factory=list)
    known: list[str] = field(default_factory=list)
    late: list[str] = field(default_factory=list)
    wrong: dict[str, str] = field(default_factory=dict)


def print_sheet(round_: Round, you: Membership, at: datetime, *, drawn: bool = False) -> Sheet:
    """The sheet of a round, in walking order; with the small drawing of each tank on request."""
    pack = round_pack(you.showroom, round_, you, at)
    if drawn:
        small = addresses(shapes(you.showroom, at), Detail.WALK)
        for tank in pack["tanks"]:
            tank["drawing_small"] = small.get(tank["code"])
    people = [(person["id"], person["name"]) for person in pack["people"]]
    return Sheet(pack, sheet(pack), people)


def type_in(*, round_: Round, by: Membership, typed: Mapping[str, str], at: datetime) -> Outcome:
    """Enter what was typed, each stop whole or not at all.

    Parameters
    ----------
    typed : texts by ``<number of the stop>.<box>``, as ``3.time`` and ``3.d0``; ``walker`` is the
        id of whoever walked
    """
    found = print_sheet(round_, by, at)
    undone = undone_in_round(round_)
    outcome = Outcome()
    first: datetime | None = None
    for row in found.rows:
        mine = {
            key.partition(".")[2]: text
            for key, text in typed.items()
            if key.startswith(f"{row.order}.") and text.strip()
        }
        if not set(mine) - {"time"}:
            continue
        try:
            done_at = _when(found.pack, mine, at)
            deeds = _deeds(found.pack, row, mine, done_at, undone)
            if deeds and first is None and round_.opened_at is None:
                deeds.insert(0, _opening(found.pack, row, done_at, undone))
            new = _say(deeds, by, at, round_) if deeds else []
        except Wrong as no:
            outcome.wrong[f"{row.order}.{no.box}"] = no.sentence
            continue
        first = first or done_at
        name = row.code or row.title
        (outcome.entered if any(new) else outcome.known).append(name)
        if any(new) and at - done_at > LATE:
            outcome.late.append(name)
    if first is not None:
        _name_the_walker(found, round_, by, typed.get("walker", ""), first, undone, at)
    return outcome


def _when(pack: Json, mine: Mapping[str, str], at: datetime) -> datetime:
    if "time" not in mine:
        raise Wrong("time", _("Time: write when you were there, as 812 or 8:12."))
    done_at = read_time(pack, mine["time"])
    if done_at > at:
        raise Wrong("time", _("Time: %(text)s is still to come.") % {"text": mine["time"].strip()})
    return done_at


def _deeds(
    pack: Json, row: Row, mine: Mapping[str, str], done_at: datetime, undone: frozenset[str]
) -> list[Deed]:
    """What is not here yet. Raises Wrong where a box was filled otherwise meanwhile."""
    known = {entry["action_id"]: entry for entry in row.stop["entries"]}
    settled = {box.key: box for box in row.boxes if box.settled}
    deeds = []
    for entry in read_stop(pack, row.stop, mine):
        made = _deed(pack, row.stop, entry, done_at, undone)
        before = known.get(made.action_id)
        if before is not None:
            if _said(before["body"]) != _said(entry.body) or _at(before) != done_at:
                raise Wrong("time", _otherwise())
            continue
        box = settled.get(entry.box)
        if box is not None and entry.part == 0:
            said = {"box": box.label, "at": box.settled}
            raise Wrong(
                entry.box,
                _(
                    "%(box)s: this was entered already, %(at)s. Empty the box; nothing was counted "
                    "twice."
                )
                % said,
            )
        deeds.append(made)
    return deeds


def _deed(pack: Json, stop: Json, entry: Entry, done_at: datetime, undone: frozenset[str]) -> Deed:
    return Deed(
        kind=entry.kind,
        body=entry.body,
        round_id=pack["round"]["id"],
        stop_id=stop["id"],
        task_id=entry.task_id,
        plan_version=entry.plan_version,
        done_at=done_at,
        action_id=entry_id(pack["round"]["id"], stop["id"], entry, undone),
    )


def _said(body: Json) -> list[Any]:
    """What of a body was written by hand; the rest is of the plan, which may change meanwhile."""
    return [body.get(key) for key in ("value", "text", "reason", "until", "minutes")]


def _at(entry: Json) -> datetime:
    return datetime.fromisoformat(entry["done_at"])


def _otherwise() -> str:
    return _(
        "A box of this tank was typed in before with something else, and that counts. Take it back "
        "first, or write a note."
    )


def _opening(pack: Json, row: Row, done_at: datetime, undone: frozenset[str]) -> Deed:
    """Whoever typed it in began it, at the first time that stands there."""
    box = f"open {done_at.isoformat()}"
    entry = Entry(box, "round_open", {"position": row.stop["id"]})
    made = _deed(pack, row.stop, entry, done_at, undone)
    return Deed(made.kind, made.body, made.round_id, done_at=done_at, action_id=made.action_id)


def _say(deeds: list[Deed], by: Membership, at: datetime, round_: Round) -> list[bool]:
    try:
        return say_all_at_desk(deeds, by=by, at=at, device_id=PAPER, boot_id=str(round_.uid))
    except Held as no:
        box = "time"
        if no.code == "differs":
            raise Wrong(box, _otherwise()) from no
        told = " ".join(text for text in no.fields.values() if text not in no.sentence)
        remedy = _("If it was measured twice, write ! behind it.")
        words = [no.sentence, told, remedy if no.code == "ask_again" else no.remedy]
        raise Wrong(box, " ".join(part for part in words if part)) from no


def _name_the_walker(
    found: Sheet,
    round_: Round,
    by: Membership,
    walker: str,
    done_at: datetime,
    undone: frozenset[str],
    at: datetime,
) -> None:
    name = dict(found.people).get(walker, "")
    if not name or walker == str(by.person.uid):
        return
    text = _("Paper round walked by %(who)s, typed in by %(me)s.") % {
        "who": name,
        "me": by.person.name,
    }
    entry = Entry(f"walker {walker} {done_at.isoformat()}", "note", {"text": text})
    made = _deed(found.pack, {"id": found.pack["round"]["id"]}, entry, done_at, undone)
    deed = Deed("note", made.body, made.round_id, done_at=done_at, action_id=made.action_id)
    say_all_at_desk([deed], by=by, at=at, device_id=PAPER, boot_id=str(round_.uid))
