"""Is it shown what a gate asks for?

A proof is *in*, *missing* (nobody said anything, or what was said is not enough), or *let pass* by
somebody who gave a reason; the gate is open when none is missing. The program proposes, a person
opens. Limits are the usual ones (common practice, no source) unless a gallery set its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal

from tanks.science.gate_list import LIMITS, Asked, Gate, limit_of

State = Literal["in", "missing", "let_pass"]
CHECKER_TOO_MUCH = "yellow"


@dataclass(frozen=True, slots=True)
class Said:
    """What a person said of a proof; ``let_pass`` with the reason in ``text``."""

    at: datetime
    who: str = ""
    was_so: bool = True
    number: float | None = None
    text: str = ""
    let_pass: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """A test: its value, or the limit under which it lay (``is_below``)."""

    at: datetime
    value: float
    is_below: bool = False


@dataclass(frozen=True, slots=True)
class Records:
    """What is on record of one tank.

    Parameters
    ----------
    day : days since it was flooded, or None
    tests : by measure (``ammonia_n``, ``nitrite``: mg/L of nitrogen or of nitrite), oldest first
    temperatures : degrees Celsius, oldest first
    band_c : lowest and highest temperature that are meant
    checkers : words of the drop checker at the end of the light, oldest first
    last : when something happened last: ``trim``, ``animals``
    """

    now: datetime
    day: int | None = None
    has_mature_media: bool = False
    has_co2: bool = True
    tests: Mapping[str, Sequence[Measured]] = field(default_factory=dict)
    temperatures: Sequence[Measured] = ()
    band_c: tuple[float, float] = (20.0, 28.0)
    checkers: Sequence[tuple[datetime, str]] = ()
    last: Mapping[str, datetime] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Proof:
    """One line of a gate: what is asked, how it stands, and because of what."""

    asked: Asked
    state: State
    because: str
    said: Said | None = None

    @property
    def unit(self) -> str:
        """Of the number that a person says; empty where none is said."""
        return LIMITS[self.asked.limit].unit if self.asked.is_number else ""


def proofs(
    gate: Gate, records: Records, said: Mapping[str, Said], own: Mapping[str, float]
) -> tuple[Proof, ...]:
    """Each proof of a gate as it stands.

    Parameters
    ----------
    said : the last word on each key
    own : limits that this gallery set for itself

    Examples
    --------
    >>> from datetime import UTC
    >>> from tanks.science.gate_list import GATES
    >>> now = datetime(2026, 3, 12, 9, tzinfo=UTC)
    >>> [p.state for p in proofs(GATES["G4"], Records(now), {"dry": Said(now, number=7.5)}, {})]
    ['missing', 'missing', 'missing']
    """
    return tuple(_proof(asked, records, said.get(asked.key), own) for asked in gate.asks)


def is_open(lines: Sequence[Proof]) -> bool:
    """May a person open the gate?"""
    return all(line.state != "missing" for line in lines)


def _proof(asked: Asked, records: Records, said: Said | None, own: Mapping[str, float]) -> Proof:
    if said is not None and said.let_pass:
        return Proof(asked, "let_pass", said.text, said)
    if asked.is_said:
        state, because = _word(asked, said, own)
    else:
        state, because = _RULES[asked.rule](asked, records, own)
    return Proof(asked, state, because, said)


def _word(asked: Asked, said: Said | None, own: Mapping[str, float]) -> tuple[State, str]:
    if said is None:
        return "missing", f"Nobody has said so yet.{_wanted(asked, own)}"
    if asked.rule == "told":
        return "in", said.text or ("yes" if said.was_so else "no")
    if not asked.is_number:
        return ("in", said.text) if said.was_so else ("missing", said.text or "Said not to be so.")
    if said.number is None:
        return "missing", f"No number was said.{_wanted(asked, own)}"
    limit, unit = limit_of(asked.limit, own), LIMITS[asked.limit].unit
    holds = said.number <= limit if asked.rule == "at_most" else said.number >= limit
    words = f"{said.number:g} {unit}".rstrip()
    return ("in", words) if holds else ("missing", f"{words}.{_wanted(asked, own)}")


def _wanted(asked: Asked, own: Mapping[str, float]) -> str:
    if not asked.limit:
        return ""
    about = LIMITS[asked.limit]
    return f" {about.words} {limit_of(asked.limit, own):g} {about.unit}".rstrip() + "."


def _days(_asked: Asked, records: Records, own: Mapping[str, float]) -> tuple[State, str]:
    if records.day is None:
        return "missing", "It has not been flooded."
    key = "animals_from_day_mature" if records.has_mature_media else "animals_from_day"
    wanted = limit_of(key, own)
    media = ", with mature media" if records.has_mature_media else ""
    words = f"day {records.day} of {wanted:g}{media}"
    return ("in" if records.day >= wanted else "missing"), words


def _tests(asked: Asked, records: Records, own: Mapping[str, float]) -> tuple[State, str]:
    """So many of the last tests below the limit, the first and last of them far enough apart."""
    wanted, apart = int(limit_of("tests", own)), limit_of("tests_apart_h", own)
    below = limit_of(asked.limit, own)
    rows = records.tests.get(asked.measure, ())
    low: list[Measured] = []
    for row in reversed(rows):
        if not (row.value < below or (row.is_below and row.value <= below)):
            break
        low.append(row)
    if not rows:
        return "missing", f"Not measured. {wanted} tests below {below:g} mg/L."
    if not low:
        return "missing", f"{rows[-1].value:g} mg/L at the last test. Below {below:g} mg/L."
    span_h = (low[0].at - low[-1].at) / timedelta(hours=1)
    words = f"{len(low)} of {wanted} tests below {below:g} mg/L, {span_h:.0f} h apart"
    if len(low) < wanted:
        return "missing", words
    if wanted > 1 and span_h < apart:
        return "missing", f"{words}; at least {apart:g} h"
    return "in", words


def _temperature(asked: Asked, records: Records, own: Mapping[str, float]) -> tuple[State, str]:
    """Within its range at every reading of the time asked for, with one at its begin or before."""
    hours = limit_of(asked.limit, own)
    since = records.now - timedelta(hours=hours)
    low, high = records.band_c
    lately = [row for row in records.temperatures if row.at >= since]
    out = [row for row in lately if not low <= row.value <= high]
    if out:
        return "missing", f"{out[-1].value:g} °C. {low:g} to {high:g} °C for {hours:g} h."
    if not lately or not any(row.at <= since for row in records.temperatures):
        return "missing", f"Not read for {hours:g} h yet."
    readings = "reading" if len(lately) == 1 else "readings"
    return "in", f"{low:g} to {high:g} °C at {len(lately)} {readings} in {hours:g} h"


def _checker(_asked: Asked, records: Records, _own: Mapping[str, float]) -> tuple[State, str]:
    if not records.has_co2:
        return "in", "No CO2 is given here."
    if not records.checkers:
        return "missing", "Not read at the end of the light."
    _at, word = records.checkers[-1]
    return ("missing" if word == CHECKER_TOO_MUCH else "in"), f"{word.replace('_', '-')}"


def _rest(asked: Asked, records: Records, own: Mapping[str, float]) -> tuple[State, str]:
    wanted = limit_of(asked.limit, own)
    at = records.last.get(asked.measure)
    if at is None:
        return "in", "None on record."
    days = (records.now - at) // timedelta(days=1)
    return ("in" if days >= wanted else "missing"), f"{days} of {wanted:g} days"


_RULES: dict[str, Callable[[Asked, Records, Mapping[str, float]], tuple[State, str]]] = {
    "days": _days,
    "tests": _tests,
    "temperature": _temperature,
    "checker": _checker,
    "rest": _rest,
}
