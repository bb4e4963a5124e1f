"""A round on paper: what its sheet asks for, and what was written on it as entries.

The sheet is the round pack (``round_pack.schema.json``) in walking order. Signs are few, so that a
day is typed in by the keyboard alone:

- ``y``: as it should be, as planned, done;
- a number, with decimal comma or point: what was read or given; ``!`` behind it: measured twice, it
  is so; ``e`` behind presses: then the bottle was empty;
- ``s`` and a number: left out, with the reason of that number, and words behind it;
- ``u`` and words: could not be measured;
- in the box of the looks their numbers with words: ``3 24,1; 5 film on the glass``. Those without a
  number were as they should be.

What was left empty was not done or not written down, and gives no entry.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Box:
    """One box of a stop.

    key : look, r0, d0, f0, t0 and so on. asks : what is written here, in words. hint : what it was
    last time. settled : when it was entered already, by whoever; empty while it is open.
    """

    key: str
    kind: str
    label: str
    asks: str = ""
    hint: str = ""
    settled: str = ""
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One stop of the sheet. order : as it is numbered on paper."""

    order: int
    stop: Json
    code: str
    title: str
    drawing: str
    empty: bool
    boxes: tuple[Box, ...] = ()


def sheet(pack: Json) -> list[Row]:
    """All stops in walking order, numbered from 1."""
    tanks = {tank["code"]: tank for tank in pack["tanks"]}
    return [
        Row(
            order=n,
            stop=stop,
            code=stop["tank"] or "",
            title=(tanks.get(stop["tank"] or "", {}).get("title") or stop["name"] or ""),
            drawing=tanks.get(stop["tank"] or "", {}).get("drawing_small") or "",
            empty=stop["empty_day"] is not None,
            boxes=tuple(boxes(pack, stop)),
        )
        for n, stop in enumerate(pack["stops"], 1)
    ]


def boxes(pack: Json, stop: Json) -> list[Box]:
    """What one stop asks for, in the order in which it is done."""
    at = _settled(pack, stop)
    found: list[Box] = []
    if stop["looks"]:
        lines = tuple(
            f"{n} {_look_words(pack, look, stop)}" for n, look in enumerate(stop["looks"], 1)
        )
        found.append(Box("look", "look", "Look", "y, or No. and words", "", at("look"), lines))
    for n, asked in enumerate(stop["readings"]):
        about = pack["parameters"].get(asked["parameter"], {"label": asked["parameter"]})
        last = asked["last"]["text"] if asked["last"] else ""
        unit = about.get("unit") or ""
        asks = " ".join(part for part in (unit, _range(pack, stop, asked["parameter"])) if part)
        found.append(Box(f"r{n}", "reading", about["label"], asks, last, at(f"r{n}")))
    for n, dose in enumerate(stop["doses"]):
        name = pack["products"].get(dose["product"], {}).get("name", "")
        hint = _given(pack, dose["given_today"], "mL")
        found.append(Box(f"d{n}", "dose", name, dose_words(pack, dose), hint, at(f"d{n}")))
    for n, feed in enumerate(stop["feeds"]):
        name = pack["products"].get(feed["product"], {}).get("name", "")
        hint = _given(pack, feed["given_today"], "g")
        found.append(
            Box(f"f{n}", "feed", name, f"{_milli(pack, feed['planned_mg'])} g", hint, at(f"f{n}"))
        )
    for n, task in enumerate(other_tasks(stop)):
        found.append(Box(f"t{n}", "task", task["name"], "y, or minutes", "", at(f"t{n}")))
    return found


def other_tasks(stop: Json) -> list[Json]:
    """Tasks that are neither looking nor giving, nor completed by an asked reading."""
    asked = {reading.get("task") for reading in stop["readings"]}
    given = {line["task"] for line in [*stop["doses"], *stop["feeds"]]}
    return [
        task
        for task in stop["tasks"]
        if task["code"] != "look" and task["id"] not in asked | given
        if task["code"] not in {"dose", "feed"}
    ]


def dose_words(pack: Json, dose: Json) -> str:
    """What is given by plan: presses and what they come to, or millilitres by cup."""
    if dose["presses"] is None:
        return f"{_milli(pack, dose['planned_ul'])} mL, cup"
    ul = dose["presses"] * dose["per_press_ul"]
    word = "press" if dose["presses"] == 1 else "presses"
    return f"{dose['presses']} {word} = {_milli(pack, ul, 1)} mL"


def _settled(pack: Json, stop: Json) -> Any:
    """Of a box: when something was entered for it, in words."""
    zone = ZoneInfo(pack["showroom"]["zone"])
    tasks: dict[str, str] = {}
    checks: dict[str, str] = {}
    for entry in stop["entries"]:
        at = f"{datetime.fromisoformat(entry['done_at']).astimezone(zone):%H:%M}"
        at = f"{at} from paper" if entry.get("paper") else at
        if entry["task_id"]:
            tasks[entry["task_id"]] = at
        if entry["kind"] in {"check", "unable"}:
            checks[
                "look" if entry["body"].get("value") == "all_normal" else entry["body"]["check"]
            ] = at
    look = next((t["id"] for t in stop["tasks"] if t["code"] == "look"), "")

    def at_box(key: str) -> str:
        if key == "look":
            return checks.get("look") or tasks.get(look, "")
        n = int(key[1:])
        if key[0] == "r":
            return checks.get(stop["readings"][n]["parameter"], "")
        lines = {"d": stop["doses"], "f": stop["feeds"]}.get(key[0])
        return tasks.get(lines[n]["task"] if lines is not None else other_tasks(stop)[n]["id"], "")

    return at_box


def _look_words(pack: Json, look: Json, stop: Json) -> str:
    about = pack["looks"].get(look["look"], {"label": look["look"].replace("_", " "), "fields": []})
    ranges = [r for name in about["fields"] if (r := _range(pack, stop, name))]
    last = f" ({look['last']['text']})" if look["last"] else ""
    return " ".join([about["label"], *ranges]) + last


def _range(pack: Json, stop: Json, parameter: str) -> str:
    about = {
        **pack["parameters"].get(parameter, {}),
        **(stop.get("limits") or {}).get(parameter, {}),
    }
    low, high = about.get("alarm") or (None, None)
    mark = pack["showroom"]["decimal_mark"]
    plain = ["" if n is None else f"{n:.12g}".replace(".", mark) for n in (low, high)]
    return "" if plain == ["", ""] else "–".join(plain)


def _given(pack: Json, given: list[Json], unit: str) -> str:
    zone = ZoneInfo(pack["showroom"]["zone"])
    return ", ".join(
        f"{_milli(pack, one['amount'])} {unit} at "
        f"{datetime.fromisoformat(one['at']).astimezone(zone):%H:%M} by {one['by']}"
        for one in given
    )


def _milli(pack: Json, thousandths: int, places: int = 3) -> str:
    """Thousandths as text, without noughts at the end."""
    number = round(Decimal(thousandths) / 1000, places)
    text = f"{number:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace(".", str(pack["showroom"]["decimal_mark"]))
