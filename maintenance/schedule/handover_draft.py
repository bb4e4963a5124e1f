"""What must the next shift know of a round? Lines drafted from what was entered, by fixed rules.

The tablet drafts the same lines from its own log, also without a network
(``web/static/web/js/round/handover_draft.js``); ``tests/js/handover_cases.json`` is one table of
cases for both. Read are the stops of a round pack (``round_pack.schema.json``) with their entries.

What was as it should be gives no line, and neither does what is only still open: that stays due
and stands in everybody's list. A number is read against the alarm range of the tank.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

Json = dict[str, Any]

MOST_A_TANK = 3
LONGEST = 280
QUICK = timedelta(seconds=10)
"""A stop that took less is named (common practice, no source)."""
RANK = {"worry": 0, "do": 1, "changed": 2}
SILENT = frozenset({"already_done", "tank_empty", "not_needed"})
"""Reasons of a skip after which nothing is left to be done."""
BACK = {"undo": "takes_back", "move_record": "moves", "amend": "amends"}
"""Kinds by which another entry counts no more, and the field that names it."""
THE = {"look": "The look", "feed": "The food", "dose": "The dose"}
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Line:
    """One line. kind : changed, worry or do. by : local date, ``YYYY-MM-DD``; empty for none.

    source : what it follows from, as "reading 08:12"; entry : the id of that action.
    """

    tank: str
    kind: str
    text: str
    by: str
    source: str
    entry: str


def draft_lines(pack: Json) -> list[Line]:
    """The lines of a round in walking order, per tank at most three: worries first.

    Parameters
    ----------
    pack : ``showroom``, ``round``, ``looks``, ``parameters``, ``products``, ``reasons`` and
        ``stops`` with their entries, oldest first; what was taken back, moved to another tank or
        put right says nothing
    """
    found: list[Line] = []
    for stop in pack["stops"]:
        lines = [line for entry in holding(stop["entries"]) if (line := _line(pack, stop, entry))]
        found += sorted(lines, key=lambda line: RANK[line.kind])[:MOST_A_TANK]
    return found


def holding(entries: list[Json]) -> list[Json]:
    """Without what was taken back, moved to another tank or put right.

    A correction that waits for a person, and one that was taken back itself, changes nothing.
    """
    said = [entry for entry in entries if entry["kind"] in BACK and entry.get("verdict") != "held"]
    undone = {entry["body"]["takes_back"] for entry in said if entry["kind"] == "undo"}
    back = {
        entry["body"][BACK[entry["kind"]]] for entry in said if entry["action_id"] not in undone
    }
    return [
        entry
        for entry in entries
        if entry["kind"] not in BACK and not entry.get("became") and entry["action_id"] not in back
    ]


def quick_stops(pack: Json) -> list[str]:
    """Stops at which less than ten seconds passed since the last entry elsewhere, by code.

    That time holds the way there, so it is more than what was spent looking. The first stop of a
    round cannot be told, and neither can what was typed in from paper.
    """
    times = [
        (datetime.fromisoformat(entry["done_at"]), number)
        for number, stop in enumerate(pack["stops"])
        for entry in holding(stop["entries"])
        if not entry.get("paper")
    ]
    found = []
    for number, stop in enumerate(pack["stops"]):
        looks = [
            datetime.fromisoformat(entry["done_at"])
            for entry in holding(stop["entries"])
            if entry["kind"] == "check" and entry["body"]["value"] == "all_normal"
            if not entry.get("paper")
        ]
        if not looks:
            continue
        before = [at for at, other in times if other != number and at <= looks[0]]
        if before and looks[0] - max(before) < QUICK:
            found.append(stop["tank"] or stop["name"] or "")
    return found


def _line(pack: Json, stop: Json, entry: Json) -> Line | None:
    at = datetime.fromisoformat(entry["done_at"]).astimezone(ZoneInfo(pack["showroom"]["zone"]))
    said = _SAYING.get(entry["kind"], _nothing)(pack, stop, entry)
    if entry.get("verdict") == "held":
        what = said[1] if said else _plainly(pack, stop, entry)
        why = f": {entry['why']}" if entry.get("why") else ""
        said = ("worry", f"{what}. It waits for a person{why}")
    if said is None:
        return None
    kind, text = said
    text = text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
    return Line(
        tank=stop["tank"] or "",
        kind=kind,
        text=text,
        by=_day(pack) if kind == "do" else "",
        source=f"{_WORD.get(entry['kind'], entry['kind'])} {at:%H:%M}",
        entry=entry["action_id"],
    )


def _plainly(pack: Json, stop: Json, entry: Json) -> str:
    """What was entered, where that alone would be no news."""
    body, mark = entry["body"], pack["showroom"]["decimal_mark"]
    if entry["kind"] in {"dose", "feed"}:
        amount, unit = (
            (body["given_ul"], "mL") if entry["kind"] == "dose" else (body["given_mg"], "g")
        )
        name = _in_sentence(pack["products"].get(body["product"], {}).get("name", "the product"))
        return f"Given {_plain((amount + 5) // 10 / 100, mark)} {unit} of {name}"
    if entry["kind"] == "check" and body["value"] == "all_normal":
        return "Looked, all as it should be"
    if entry["kind"] == "check" and body["value"] == "counted":
        return "Animals counted"
    if entry["kind"] == "check":
        about = pack["parameters"].get(body["check"], {})
        words = {option["code"]: option["label"] for option in about.get("options") or []}
        unit = f" {body['unit']}" if body["unit"] else ""
        said = words.get(body["value"], body["value"].replace(".", mark))
        return f"{_label(pack, body['check'])}: {said}{unit}"
    task = next((t["name"] for t in stop["tasks"] if t["id"] == entry["task_id"]), "")
    return f"{task[:1].upper()}{task[1:]}" if task else "An entry"


def _nothing(pack: Json, stop: Json, entry: Json) -> tuple[str, str] | None:
    del pack, stop, entry
    return None


def _check(pack: Json, stop: Json, entry: Json) -> tuple[str, str] | None:
    body = entry["body"]
    value = body["value"]
    if value == "all_normal":
        return None
    if value == "counted":
        return _counted(stop, body)
    if value == "different":
        return ("changed", f"{_label(pack, body.get('look') or body['check'])}: {body['text']}")
    about = pack["parameters"].get(body["check"])
    if about is None:
        return None
    option = next((o for o in about.get("options") or [] if o["code"] == value), None)
    if option is not None:
        kind = _judged(stop, entry, option)
        return (kind, f"{about['label']}: {option['label']}") if kind else None
    return _number(pack, stop, body, about)


def _judged(stop: Json, entry: Json, option: Json) -> str:
    """What a word is: a drop checker says nothing before its gas has run long enough."""
    wanted = entry["body"].get("look")
    look: Json = next((one for one in stop["looks"] if one["look"] == wanted), {})
    if option["code"] in look.get("always", ()):
        return "worry"
    since, at = look.get("valid_from"), datetime.fromisoformat(entry["done_at"])
    if since and at < datetime.fromisoformat(since):
        return ""
    if look.get("right"):
        return "" if option["code"] in look["right"] else "worry"
    if option.get("normal"):
        return ""
    return "worry" if option.get("alarm") else "changed" if wanted else ""


def _number(pack: Json, stop: Json, body: Json, about: Json) -> tuple[str, str] | None:
    """A number outside its alarm range; one within it is no news."""
    try:
        number = float(body["value"])
    except ValueError:
        return None
    ranges = {**about, **(stop.get("limits") or {}).get(body["check"], {})}
    low, high = ranges.get("alarm") or (None, None)
    below = low is not None and number < low
    if not below and not (high is not None and number > high):
        return None
    mark = pack["showroom"]["decimal_mark"]
    unit = f" {body['unit']}" if body["unit"] else ""
    said = f"{about['label']} {body['value'].replace('.', mark)}{unit}"
    side = "below" if below else "above"
    last = _last(pack, stop, body)
    was = f", was {last}" if last else ""
    return ("worry", f"{said}, {side} the range of {_pair(low, high, mark)}{was}")


def _last(pack: Json, stop: Json, body: Json) -> str:
    for asked in stop["readings"]:
        if asked["parameter"] == body["check"] and asked["last"]:
            return str(asked["last"]["text"])
    for look in stop["looks"]:
        alone = pack["looks"].get(look["look"], {}).get("fields") == [body["check"]]
        if alone and look["last"]:
            return str(look["last"]["text"])
    return ""


def _counted(stop: Json, body: Json) -> tuple[str, str] | None:
    """Heads that are not as many as were known."""
    known = {batch["id"]: batch for batch in stop["batches"]}
    parts = []
    fewer = False
    for one in body.get("counts") or []:
        batch = known.get(one["batch"])
        if batch is None or batch["count"] is None or batch["count"] == one["count"]:
            continue
        fewer = fewer or one["count"] < batch["count"]
        parts.append(f"{one['count']} {batch['name']}, {batch['count']} were there")
    return ("worry" if fewer else "changed", "; ".join(parts)) if parts else None


def _animal(pack: Json, stop: Json, entry: Json) -> tuple[str, str] | None:
    del pack
    body = entry["body"]
    if body["what"] == "seen":
        return None
    name = next((b["name"] for b in stop["batches"] if b["id"] == body["batch"]), None)
    return ("worry", f"{body['count'] or 'Some'} {name or 'of unsure species'} {body['what']}")


def _unable(pack: Json, stop: Json, entry: Json) -> tuple[str, str] | None:
    del stop
    body = entry["body"]
    return ("do", f"{_label(pack, body['check'])} could not be measured: {body['reason']}")


def _dose(pack: Json, stop: Json, entry: Json) -> tuple[str, str] | None:
    del stop
    body = entry["body"]
    name = _in_sentence(pack["products"].get(body["product"], {}).get("name", "the product"))
    if body["short"] == "bottle_empty":
        return ("do", f"The bottle of {name} ran empty; the dose is short")
    if body["short"] == "less":
        return ("changed", f"Less {name} than planned: {body.get('less') or 'no reason given'}")
    if body["again"]:
        return ("worry", f"A second dose of {name} today: {body['again']['reason']}")
    return None


def _skip(pack: Json, stop: Json, entry: Json) -> tuple[str, str] | None:
    body = entry["body"]
    if body["reason"] in SILENT:
        return None
    task = next((t for t in stop["tasks"] if t["id"] == body["task"]), None)
    name = THE.get(task["code"], task["name"]) if task else "A task"
    reason = next((r["label"] for r in pack["reasons"] if r["code"] == body["reason"]), "")
    reason = f"{reason[:1].lower()}{reason[1:]}"
    more = f": {body['text']}" if body["text"] else ""
    if body["until"]:
        return ("changed", f"{name} rests until {_until(body['until'])}, {reason}{more}")
    return ("do", f"{name} left out, {reason}{more}")


def _note(pack: Json, stop: Json, entry: Json) -> tuple[str, str] | None:
    del pack, stop
    return ("changed", str(entry["body"]["text"]))


_SAYING = {
    "check": _check, "animal": _animal, "unable": _unable, "dose": _dose, "skip": _skip,
    "note": _note,
}  # fmt: skip
_WORD = {"check": "reading", "animal": "animals", "unable": "reading"}


def _label(pack: Json, key: str) -> str:
    found = pack["looks"].get(key) or pack["parameters"].get(key) or {}
    return str(found.get("label") or key.replace("_", " "))


def _pair(low: float | None, high: float | None, mark: str) -> str:
    if low is None:
        return f"up to {_plain(high, mark)}"
    if high is None:
        return f"{_plain(low, mark)} or more"
    return f"{_plain(low, mark)} to {_plain(high, mark)}"


def _plain(number: float | None, mark: str) -> str:
    return f"{number:.12g}".replace(".", mark)


def _in_sentence(name: str) -> str:
    """A name as it stands inside a sentence; a name in capitals stays."""
    is_word = name[:1].isupper() and name[1:2].islower()
    return f"{name[0].lower()}{name[1:]}" if is_word else name


def _until(text: str) -> str:
    """A local date, or the hour of a date and hour."""
    if len(text) > len("2026-03-12"):
        return text[11:]
    on = date.fromisoformat(text)
    return f"{DAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]}"


def _day(pack: Json) -> str:
    """By when: today, and after the closing round tomorrow."""
    on = date.fromisoformat(pack["round"]["business_date"])
    return (on + timedelta(days=pack["round"]["kind"] == "closing")).isoformat()
