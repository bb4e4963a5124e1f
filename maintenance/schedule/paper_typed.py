"""What was written on a printed round, as entries: the bodies that a tablet would have sent.

The signs stand in :mod:`maintenance.schedule.paper`. Each box of a stop is read by itself; what
cannot be is said with the box, and nothing of that stop counts then.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid5
from zlib import crc32

from gallery_ops.kernel.values.day import business_instant
from gallery_ops.kernel.values.limits import BadNumber
from gallery_ops.kernel.values.text import parse_decimal
from maintenance.schedule.paper import Box, boxes, dose_words, other_tasks

Json = dict[str, Any]

YES = frozenset({"y", "yes", "+", "x"})
LONGEST = 500


class Wrong(ValueError):
    """What was typed cannot be; ``box`` names the field, the sentence says what is allowed."""

    def __init__(self, box: str, sentence: str) -> None:
        self.box, self.sentence = box, sentence
        super().__init__(sentence)


@dataclass(frozen=True, slots=True)
class Entry:
    """What follows from one box: as the body of a tablet's action."""

    box: str
    kind: str
    body: Json
    task_id: str | None = None
    plan_version: str | None = None
    part: int = 0


@dataclass(slots=True)
class _Typed:
    """The stop that is read, and what was found."""

    pack: Json
    stop: Json
    found: list[Entry] = field(default_factory=list)


def read_time(pack: Json, text: str) -> datetime:
    """The moment of that hour in this round's business day (aware).

    Raises Wrong for what is no hour. An hour before the cut-off belongs to the night after.
    """
    found = re.fullmatch(r"\s*(\d{1,2})[:.,h ]?(\d{2})\s*", text)
    hour, minute = (int(found[1]), int(found[2])) if found else (99, 99)
    if hour > 23 or minute > 59:
        raise Wrong(
            "time", f"Time: {text.strip() or 'nothing'} is no hour. Write it as 812 or 8:12."
        )
    on = date.fromisoformat(pack["round"]["business_date"])
    showroom = pack["showroom"]
    return business_instant(on, time(hour, minute), showroom["zone"], showroom["cut_off_hour"])


def read_stop(pack: Json, stop: Json, typed: Mapping[str, str]) -> list[Entry]:
    """What was written at one stop; ``typed`` by the key of its box, and ``note``.

    Raises Wrong with the box and a sentence; nothing of the stop counts then.
    """
    here = _Typed(pack, stop)
    for box in boxes(pack, stop):
        text = typed.get(box.key, "").strip()
        if text:
            _READ[box.kind](here, box, text)
    note = typed.get("note", "").strip()
    if len(note) > LONGEST:
        raise Wrong("note", f"Note: at most {LONGEST} characters; this one has {len(note)}.")
    if note:
        here.found.append(Entry("note", "note", {"text": note}, part=crc32(note.encode())))
    return here.found


def entry_id(round_id: str, stop_id: str, entry: Entry, undone: frozenset[str]) -> str:
    """The id of this box of this sheet: typed in twice it is one entry.

    undone : ids that were taken back; what is typed in again after that is a new entry.
    """
    for n in range(1000):
        made = str(uuid5(UUID(round_id), f"paper {stop_id} {entry.box} {entry.part} {n}"))
        if made not in undone:
            return made
    raise ValueError("This box was taken back a thousand times.")


def _look(here: _Typed, box: Box, text: str) -> None:
    stop = here.stop
    task = next((t for t in stop["tasks"] if t["code"] == "look"), None)
    if task is not None and _is_skip(here, box, text, task["id"]):
        return
    looks = [look["look"] for look in stop["looks"]]
    named: dict[str, str] = {}
    for part in [] if text.lower() in YES else text.split(";"):
        found = re.fullmatch(r"\s*(\d{1,2})[.:)]?\s+(\S.*)", part, re.DOTALL)
        if found is None or not 1 <= int(found[1]) <= len(looks):
            raise Wrong(
                box.key,
                f"Look: “{part.strip()}” does not begin with a number from 1 to {len(looks)} and "
                "words. Write y where all was as it should be, or as 5 film on the glass.",
            )
        named[looks[int(found[1]) - 1]] = found[2].strip()
    for part_no, (look, words) in enumerate(named.items(), 1):
        here.found.append(_seen(here, box, look, words, part_no))
    body = {
        "check": stop.get("check") or "look",
        "value": "all_normal",
        "looks": [look for look in looks if look not in named],
        "text": None,
        "unit": None,
        "asked_again": False,
    }
    here.found.append(Entry(box.key, "check", body, task["id"] if task else None))


def _seen(here: _Typed, box: Box, look: str, words: str, part: int) -> Entry:
    """A look that was different: a number where it is one, a word of its list, or words."""
    fields = here.pack["looks"].get(look, {}).get("fields", [])
    common = {"look": look, "unit": None, "asked_again": words.endswith("!")}
    for name in fields:
        about = here.pack["parameters"].get(name)
        if about is None:
            continue
        if about["kind"] == "number" and re.fullmatch(r"[<>]?[-\d.,]+\s*!?", words):
            value = _number(here.pack, box.key, about["label"], words.rstrip("! "))
            body = {**common, "check": name, "value": value, "text": words.rstrip("! ")}
            return Entry(box.key, "check", {**body, "unit": about.get("unit")}, part=part)
        for option in about.get("options") or []:
            if words.casefold() in {option["label"].casefold(), option["code"]}:
                body = {**common, "check": name, "value": option["code"], "text": option["label"]}
                return Entry(box.key, "check", body, part=part)
    if len(words) > LONGEST:
        raise Wrong(box.key, f"Look: at most {LONGEST} characters for one look.")
    body = {**common, "check": look, "value": "different", "text": words, "asked_again": False}
    return Entry(box.key, "check", body, part=part)


def _reading(here: _Typed, box: Box, text: str) -> None:
    asked = here.stop["readings"][int(box.key[1:])]
    name = asked["parameter"]
    about = here.pack["parameters"].get(name, {})
    unable = re.fullmatch(r"[uU]\s+(\S.*)", text, re.DOTALL)
    if unable:
        body: Json = {"check": name, "reason": unable[1][:LONGEST]}
        here.found.append(Entry(box.key, "unable", body))
        return
    sure, plain = text.endswith("!"), text.rstrip("! ")
    value = _number(here.pack, box.key, box.label, plain)
    body = {
        "check": name, "look": None, "value": value, "text": plain, "unit": about.get("unit"),
        "asked_again": sure,
    }  # fmt: skip
    here.found.append(Entry(box.key, "check", body, asked.get("task")))


def _dose(here: _Typed, box: Box, text: str) -> None:
    dose = here.stop["doses"][int(box.key[1:])]
    if _is_skip(here, box, text, dose["task"]):
        return
    sure, empty = "!" in text, text.rstrip("! ").lower().endswith("e")
    plain = text.replace("!", "").strip()
    is_plan = plain.lower() in YES
    plain = plain[:-1].strip() if empty and not is_plan else plain
    presses: int | None = None
    if dose["presses"] is not None:
        presses = dose["presses"] if is_plan else _whole(box, "presses", plain)
        given, plan, unit = presses, dose["presses"], "presses"
        given_ul = presses * dose["per_press_ul"]
    else:
        given_ul = dose["planned_ul"] if is_plan else _thousandths(here.pack, box, "mL", plain)
        given, plan, unit = given_ul, dose["planned_ul"], "mL"
    if 2 * given >= 3 * plan and not is_plan and not sure:
        raise Wrong(
            box.key,
            f"{box.label}: {plain} {unit}, where {dose_words(here.pack, dose)} is planned. "
            "If it is so, write ! behind it.",
        )
    again = None
    if dose["given_today"]:
        if not sure:
            raise Wrong(
                box.key,
                f"{box.label}: {box.hint} was given already today. If this is a second dose, write "
                "! behind it.",
            )
        earlier = dose["given_today"][-1]["action_id"]
        again = {"earlier": earlier, "reason": "confirmed while it was typed in from paper"}
    body = {
        "product": dose["product"], "source": dose["source"], "planned_ul": dose["planned_ul"],
        "given_ul": given_ul, "presses": presses, "per_press_ul": dose["per_press_ul"],
        "text": None if is_plan else text[:LONGEST], "again": again,
        "short": "bottle_empty" if empty and not is_plan else None,
    }  # fmt: skip
    here.found.append(Entry(box.key, "dose", body, dose["task"], dose["plan_version"]))


def _feed(here: _Typed, box: Box, text: str) -> None:
    feed = here.stop["feeds"][int(box.key[1:])]
    if _is_skip(here, box, text, feed["task"]):
        return
    sure, plain = text.endswith("!"), text.rstrip("! ")
    is_plan = plain.lower() in YES
    given = feed["planned_mg"] if is_plan else _thousandths(here.pack, box, "g", plain)
    if given > 2 * feed["planned_mg"] and not sure:
        raise Wrong(
            box.key,
            f"{box.label}: {plain} g, where {box.asks} is planned. If it is so, write ! behind it.",
        )
    body = {
        "product": feed["product"], "source": feed["source"], "planned_mg": feed["planned_mg"],
        "given_mg": given, "turns": None, "text": None if is_plan else plain,
        "seen_to_drop": None,
    }  # fmt: skip
    here.found.append(Entry(box.key, "feed", body, feed["task"], feed["plan_version"]))


def _task(here: _Typed, box: Box, text: str) -> None:
    task = other_tasks(here.stop)[int(box.key[1:])]
    if _is_skip(here, box, text, task["id"]):
        return
    minutes = None if text.lower() in YES else _whole(box, "minutes", text)
    body = {"task": task["id"], "minutes": minutes, "answers": {}}
    here.found.append(Entry(box.key, "complete", body, task["id"]))


_READ = {"look": _look, "reading": _reading, "dose": _dose, "feed": _feed, "task": _task}


def _is_skip(here: _Typed, box: Box, text: str, task: str) -> bool:
    found = re.fullmatch(r"[sS]\s*(\d{1,2})\b\s*(.*)", text, re.DOTALL)
    if found is None:
        return False
    reasons = here.pack["reasons"]
    if not 1 <= int(found[1]) <= len(reasons):
        raise Wrong(box.key, f"{box.label}: there are reasons 1 to {len(reasons)}, not {found[1]}.")
    reason, words = reasons[int(found[1]) - 1], found[2].strip()[:LONGEST]
    until, links = None, None
    if reason["asks"] in {"value", "words", "entry"} and not words:
        raise Wrong(box.key, f"{box.label}: {reason['label']} needs a few words behind the number.")
    if reason["asks"] in {"date", "hour"}:
        until, words = _until(here.pack, box, reason, words)
    if reason["asks"] == "person":
        links = _person(here.pack, box, reason, words)
    body = {
        "task": task, "reason": reason["code"], "text": words or None, "until": until,
        "links": links,
    }  # fmt: skip
    here.found.append(Entry(box.key, "skip", body, task))
    return True


def _until(pack: Json, box: Box, reason: Json, words: str) -> tuple[str, str]:
    """A day as 14.3 or 14/3, or an hour as 14:30, and the words behind it."""
    on = date.fromisoformat(pack["round"]["business_date"])
    if reason["asks"] == "hour":
        found = re.match(r"(\d{1,2})[:.](\d{2})\b\s*", words)
        if found and int(found[1]) < 24 and int(found[2]) < 60:
            return f"{on}T{int(found[1]):02}:{found[2]}", words[found.end() :]
        raise Wrong(box.key, f"{box.label}: {reason['label']} needs an hour, as s7 14:30.")
    found = re.match(r"(\d{1,2})[./](\d{1,2})\b\.?\s*", words)
    try:
        day = date(on.year, int(found[2]), int(found[1])) if found else date.min
        if found and day < on:
            day = day.replace(year=on.year + 1)
    except ValueError:
        day = date.min
    if found is None or day == date.min:
        raise Wrong(box.key, f"{box.label}: {reason['label']} needs a day, as s6 14.3")
    return day.isoformat(), words[found.end() :]


def _person(pack: Json, box: Box, reason: Json, words: str) -> str:
    wanted = words.casefold()
    for person in pack["people"]:
        if wanted and person["name"].casefold().startswith(wanted):
            return str(person["id"])
    raise Wrong(box.key, f"{box.label}: {reason['label']} needs a name of somebody who works here.")


def _number(pack: Json, box: str, label: str, text: str) -> str:
    limit = text[:1] if text[:1] in {"<", ">"} else ""
    try:
        number = parse_decimal(
            text[len(limit) :], field=label, mark=pack["showroom"]["decimal_mark"]
        )
    except BadNumber as no:
        raise Wrong(box, f"{no.sentence} {no.remedy}".strip()) from None
    return f"{limit}{number}"


def _whole(box: Box, unit: str, text: str) -> int:
    if not re.fullmatch(r"\d{1,3}", text):
        raise Wrong(
            box.key,
            f"{box.label}: “{text}” is no number of {unit}. Write y, a whole number, or s1 to s12.",
        )
    return int(text)


def _thousandths(pack: Json, box: Box, unit: str, text: str) -> int:
    number = Decimal(_number(pack, box.key, box.label, text.removesuffix(unit).strip()))
    base = number * 1000
    if base != base.to_integral_value() or not 0 <= base <= 10**8:
        raise Wrong(
            box.key, f"{box.label}: {text} {unit} cannot be. At most three decimals, 0 or more."
        )
    return int(base)
