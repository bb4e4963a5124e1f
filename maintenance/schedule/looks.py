"""What is looked at on which round, and from when does a drop checker tell anything?

Reads and checks `maintenance/catalogue/looks.toml`. Pure: no database, no clock.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Final, TypedDict, cast
from zoneinfo import ZoneInfo

from gallery_ops.kernel.values.day import instant
from gallery_ops.kernel.values.limits import OutOfRange

CATALOGUE: Final = Path(__file__).resolve().parent.parent / "catalogue" / "looks.toml"
ROUNDS: Final = ("opening", "midday", "closing")
ONLY_WITH: Final = ("", "gas", "no_gas", "feeder", "own_tools")
FALLBACK: Final = "en"


class LookRow(TypedDict, total=False):
    """A look in the file."""

    label: dict[str, str]
    fields: list[str]
    only_with: str


class RoundRow(TypedDict, total=False):
    """A kind of round in the file."""

    check: str
    tank: list[str]
    room: list[str]
    asks: dict[str, str]
    right: dict[str, dict[str, str]]


class CheckerRow(TypedDict):
    """When a drop checker counts, in the file."""

    valid_after_h: float
    gas_before_doors_h: float
    right: list[str]
    always: list[str]


class Content(TypedDict):
    """The whole file."""

    look: dict[str, LookRow]
    round: dict[str, RoundRow]
    drop_checker: CheckerRow


@dataclass(frozen=True, slots=True)
class Look:
    """One thing that is looked at. fields : what opens when it is different."""

    key: str
    labels: Mapping[str, str]
    fields: tuple[str, ...]
    only_with: str = ""

    def label(self, language: str) -> str:
        """The label in this language, or in English."""
        return self.labels.get(language, self.labels[FALLBACK])


@dataclass(frozen=True, slots=True)
class RoundLooks:
    """The looks of one kind of round.

    tank, room : keys in the order of the eyes. asks : parameter -> key of the task that its reading
    completes. right : look -> what is right there, by language.
    """

    check: str
    tank: tuple[str, ...]
    room: tuple[str, ...] = ()
    asks: Mapping[str, str] = field(default_factory=dict)
    right: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def expect(self, look: str, language: str) -> str | None:
        """What is right at this look, or None where it needs no saying."""
        words = self.right.get(look)
        return words.get(language, words[FALLBACK]) if words else None


@dataclass(frozen=True, slots=True)
class DropChecker:
    """When its word counts [h], and which words are as they should be then."""

    valid_after_h: float
    gas_before_doors_h: float
    right: tuple[str, ...]
    always: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LookCatalogue:
    """The checked file."""

    looks: Mapping[str, Look]
    rounds: Mapping[str, RoundLooks]
    drop_checker: DropChecker

    def of_tank(self, kind: str, has: frozenset[str]) -> list[Look]:
        """The looks of a tank on this kind of round; `has` : what it has of ONLY_WITH."""
        keys = self.rounds[kind].tank
        return [look for key in keys if (look := self.looks[key]).only_with in {"", *has}]

    def of_room(self, kind: str) -> list[Look]:
        """The looks of a room on this kind of round."""
        return [self.looks[key] for key in self.rounds[kind].room]


@lru_cache(maxsize=1)
def look_catalogue() -> LookCatalogue:
    """The looks that every showroom has."""
    return looks_from(cast("Content", tomllib.loads(CATALOGUE.read_text(encoding="utf-8"))))


def looks_from(content: Content) -> LookCatalogue:
    """The checked catalogue from the content of its file. Raises OutOfRange naming the row."""
    looks = {key: _look(key, row) for key, row in content["look"].items()}
    rounds = {}
    for kind, row in content["round"].items():
        if kind not in ROUNDS:
            raise OutOfRange(kind, "opening, midday or closing", kind)
        named = [*row["tank"], *row.get("room", []), *row.get("right", {})]
        for key in named:
            if key not in looks:
                raise OutOfRange(f"round {kind}", "a key of the looks", key)
        rounds[kind] = RoundLooks(
            check=row["check"],
            tank=tuple(row["tank"]),
            room=tuple(row.get("room", [])),
            asks=row.get("asks", {}),
            right=row.get("right", {}),
        )
    said = content["drop_checker"]
    return LookCatalogue(
        looks,
        rounds,
        DropChecker(
            said["valid_after_h"],
            said["gas_before_doors_h"],
            tuple(said["right"]),
            tuple(said["always"]),
        ),
    )


def _look(key: str, row: LookRow) -> Look:
    only_with = row.get("only_with", "")
    if only_with not in ONLY_WITH:
        raise OutOfRange(f"look {key}, only_with", ", ".join(ONLY_WITH[1:]), only_with)
    if FALLBACK not in row["label"]:
        raise OutOfRange(f"look {key}, label", "a label in English", "none")
    return Look(key, row["label"], tuple(row["fields"]), only_with)


def gas_from(on: date, opens_at: time, tz: ZoneInfo, gas_from_h: float | None = None) -> datetime:
    """When the gas of a tank starts on a business day.

    gas_from_h : hours after midnight by the clock of the showroom, where the tank's own are known;
        else it starts before the doors open (common practice, no source).
    """
    if gas_from_h is not None:
        minutes = round(gas_from_h * 60)
        return instant(on, time(minutes // 60, minutes % 60), tz)
    before = timedelta(hours=look_catalogue().drop_checker.gas_before_doors_h)
    return instant(on, opens_at, tz) - before


def valid_from(gas_at: datetime) -> datetime:
    """From when a drop checker tells of today's gas: it lags one to two hours (common practice)."""
    return gas_at + timedelta(hours=look_catalogue().drop_checker.valid_after_h)
