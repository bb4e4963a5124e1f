"""The entries of one tank, and one of them put right: moved to its tank, or the number changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import may, roles_in_words
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.quantity import Mass, Volume
from gallery_ops.kernel.values.text import parse_decimal
from gallery_ops.overview import held_words
from gallery_ops.overview.desk import act
from maintenance.actions.amending import WORDS
from maintenance.actions.anew import RIGHT
from maintenance.actions.context import Names, look_up
from maintenance.actions.envelope import read_action
from maintenance.models import Stop
from maintenance.queries.tank_entries import TankEntry, entries_of_tank
from tanks.queries.tanks import TankNow, fleet, tank_by_code

LONGEST_REASON = 200


@dataclass(frozen=True, slots=True)
class Line:
    """One entry in words. unit : of the number that may be changed; empty where none may."""

    entry: TankEntry
    words: str
    went_to: str
    unit: str
    now: str
    may: bool


@dataclass(frozen=True, slots=True)
class EntriesPage:
    """The tank, its entries newest first, the one to be put right, who may where you may not."""

    now: TankNow
    lines: list[Line]
    chosen: Line | None
    tanks: list[str]
    who_may: str


def entries_page(by: Membership, code: str, chosen: str, at: datetime) -> EntriesPage:
    """Everything that the page shows."""
    showroom = by.showroom
    now = tank_by_code(showroom, code, at)
    entries = entries_of_tank(showroom, now.tank.pk, at)
    names = look_up(showroom, [read_action(entry.said) for entry in entries])
    went = _codes_of_stops(showroom, {entry.to_stop for entry in entries if entry.to_stop}, at)
    lines = [_line(entry, names, went, by, at) for entry in entries]
    one = next((line for line in lines if line.entry.action_id == chosen), None)
    others = [row.code for row in fleet(showroom, at) if row.layout and row.code != now.code]
    return EntriesPage(now, lines, one, others, roles_in_words(RIGHT))


def put_right(
    *, by: Membership, code: str, deed: str, typed: Mapping[str, str], at: datetime
) -> str:
    """Move the entry that is named, or change its number; gives the sentence that says so.

    Raises Refused for a reason, tank or number that is missing or cannot be, and where somebody was
    first.
    """
    page = entries_page(by, code, typed.get("entry", ""), at)
    line = page.chosen
    if line is None:
        raise Refused("no_such_entry", _("There is no such entry here. Choose it from the list."))
    reason = typed.get("reason", "").strip()
    if not 1 <= len(reason) <= LONGEST_REASON:
        allowed = _(
            "Reason: write 1 to 200 characters; both lines stay, and it stands between them."
        )
        raise Refused("reason_missing", allowed, {"reason": allowed})
    wanted = line.entry.action_id
    if deed == "move":
        tank = typed.get("tank", "")
        if tank not in page.tanks:
            allowed = _("Tank: choose the one where it was done.")
            raise Refused("tank_missing", allowed, {"tank": allowed})
        body = {"moves": wanted, "tank": tank, "reason": reason}
        act(by=by, kind="move_record", body=body, at=at, corrects=wanted)
        return _("Moved to %(tank)s. Both lines stay.") % {"tank": tank}
    changes = _changes(line, typed.get("number", ""), by.showroom.decimal_mark)
    put = {"amends": wanted, "changes": changes, "reason": reason}
    act(by=by, kind="amend", body=put, at=at, corrects=wanted)
    return _("Put right. Both lines stay.")


def _line(
    entry: TankEntry, names: Names, went: Mapping[str, str], by: Membership, at: datetime
) -> Line:
    body = entry.body
    unit, now = _number(entry)
    return Line(
        entry=entry,
        words=held_words.quote(entry.kind, body, names, {}),
        went_to=went.get(entry.to_stop, ""),
        unit=unit,
        now=now.replace(".", by.showroom.decimal_mark),
        may=not entry.became and _may(entry, by, at),
    )


def _number(entry: TankEntry) -> tuple[str, str]:
    """Unit and value of the number that may be put right."""
    body: Mapping[str, Any] = entry.body
    if entry.kind == "dose" and body["presses"]:
        return _("presses"), str(body["presses"])
    if entry.kind == "dose":
        return "mL", f"{body['given_ul'] / 1000:g}"
    if entry.kind == "feed":
        return "g", f"{body['given_mg'] / 1000:g}"
    if entry.kind == "check" and body["value"] not in WORDS and body["value"][:1] in "-0123456789":
        return body["unit"] or _("number"), str(body["value"])
    return "", ""


def _changes(line: Line, text: str, mark: str) -> dict[str, Any]:
    number = parse_decimal(text, field=_("Number"), mark=mark)
    if line.entry.kind == "check":
        return {"value": f"{number:f}"}
    if line.entry.kind == "feed":
        return {"given_mg": Mass.g(number).base}
    if line.entry.kind == "dose" and line.entry.body["presses"]:
        if number != int(number) or number < 0:
            allowed = _("Presses: write a whole number, 0 or more.")
            raise Refused("not_whole", allowed, {"number": allowed})
        return {"presses": int(number)}
    return {"given_ul": Volume.ml(number).base}


def _may(entry: TankEntry, by: Membership, at: datetime) -> bool:
    """One's own of the same business day; everybody's with the right to correct."""
    showroom = by.showroom
    days = {business_day(one, showroom.tz, showroom.cut_off_hour) for one in (entry.done_at, at)}
    own = entry.person_uid == str(by.person.uid)
    return (own and len(days) == 1) or may(by, RIGHT)


def _codes_of_stops(showroom: Showroom, uids: set[str], at: datetime) -> dict[str, str]:
    if not uids:
        return {}
    codes = {row.tank.pk: row.code for row in fleet(showroom, at)}
    rows = Stop.objects.filter(round__showroom=showroom, uid__in=uids)
    return {str(uid): codes.get(tank, "") for uid, tank in rows.values_list("uid", "tank_id")}
