"""Is a tank fit to be photographed, filmed or shown on a day, and if not, from when?

Each thing that stands against it is named with the day on which it is over, where anybody can know
that day: a rest after a trim ends by itself, glass is clean again when it is next cleaned, an open
alert ends when its cause does. The limits are those of the gate to the show, and two of their own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Literal

from tanks.science.gate_list import GATES, LIMITS, Asked, limit_of
from tanks.science.gates import Said

Ready = Literal["now", "from", "open"]
SHOWN = frozenset({"show"})
RESTS = frozenset({"trim", "settled"})
"""Proofs of the gate to the show that time alone brings; the days of :class:`Facts` decide them."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of a tank on a day.

    Parameters
    ----------
    stage : ``vacant`` without a layout; ``stage_words`` as people say it
    last : the day of the last ``trim``, ``change`` of water, ``glass`` cleaned inside, ``animals``
    planned : the next day on which ``trim``, ``change`` or ``glass`` is planned
    algae : the last score, 0 to 4
    said : the last word on each proof of the gate to the show
    against : what is open today, each a sentence: alerts, an emergency
    show_on : the day on which it is meant to be shown, by its brief
    """

    on: date
    stage: str
    stage_words: str = ""
    last: Mapping[str, date] = field(default_factory=dict)
    planned: Mapping[str, date] = field(default_factory=dict)
    algae: float | None = None
    said: Mapping[str, Said] = field(default_factory=dict)
    against: Sequence[str] = ()
    show_on: date | None = None


@dataclass(frozen=True, slots=True)
class Failing:
    """One thing against it; ``until``: the first day on which it is over, None if nobody knows."""

    key: str
    words: str
    until: date | None = None


@dataclass(frozen=True, slots=True)
class Fitness:
    """``now``, ``from`` a day, or ``open``: no day can be told.

    last_on : the last day before a planned trim, where it is ready and one is planned
    """

    ready: Ready
    on: date | None
    failing: tuple[Failing, ...]
    last_on: date | None = None


def fitness(facts: Facts, own: Mapping[str, float]) -> Fitness:
    """How fit a tank is, and from when.

    Examples
    --------
    >>> day = date(2026, 3, 12)
    >>> clean = {"glass": day, "change": day}
    >>> fitness(Facts(day, "show", last=clean), {}).ready
    'now'
    >>> trimmed = Facts(day, "show", last={**clean, "trim": date(2026, 3, 9)})
    >>> fitness(trimmed, {"camera_glass_days": 30, "camera_change_days": 30}).on
    datetime.date(2026, 3, 16)
    """
    if facts.stage == "vacant":
        return Fitness("open", None, (Failing("stage", "Nothing stands in it."),))
    failing = tuple(
        one
        for one in (
            _stage(facts),
            *(Failing("alert", words) for words in facts.against),
            _rest(facts, "trim", "days_since_trim", "Trimmed", own),
            _rest(facts, "animals", "days_settled", "Animals came", own),
            _fresh(facts, "glass", "camera_glass_days", "Inside glass", own),
            _fresh(facts, "change", "camera_change_days", "Water changed", own),
            _algae(facts, own),
            *_said(facts, own),
        )
        if one is not None
    )
    if not failing:
        return Fitness("now", facts.on, (), _before_trim(facts, facts.on))
    ends = [one.until for one in failing if one.until is not None]
    if len(ends) < len(failing):
        return Fitness("open", None, failing)
    on = max(ends)
    trim = facts.planned.get("trim")
    if trim is not None and facts.on <= trim <= on:
        rest = limit_of("days_since_trim", own)
        then = trim + timedelta(days=round(rest))
        failing += (Failing("trim_planned", f"A trim is planned; {rest:g} days' rest.", then),)
        return Fitness("from", max(on, then), failing)
    return Fitness("from", on, failing, _before_trim(facts, on))


def _before_trim(facts: Facts, on: date) -> date | None:
    trim = facts.planned.get("trim")
    return trim - timedelta(days=1) if trim is not None and trim > on else None


def _stage(facts: Facts) -> Failing | None:
    if facts.stage in SHOWN:
        return None
    later = facts.show_on if facts.show_on and facts.show_on > facts.on else None
    return Failing("stage", f"Its stage is {facts.stage_words or facts.stage}, not show.", later)


def _rest(
    facts: Facts, key: str, limit: str, words: str, own: Mapping[str, float]
) -> Failing | None:
    """So many days must have gone by since."""
    last, wanted = facts.last.get(key), limit_of(limit, own)
    if last is None or (facts.on - last).days >= wanted:
        return None
    days = (facts.on - last).days
    return Failing(key, f"{words} {_ago(days)}; {wanted:g} days' rest.", _after(last, wanted))


def _fresh(
    facts: Facts, key: str, limit: str, words: str, own: Mapping[str, float]
) -> Failing | None:
    """No more than so many days may have gone by since; over when it is next done."""
    last, wanted = facts.last.get(key), limit_of(limit, own)
    if last is not None and (facts.on - last).days <= wanted:
        return None
    how = f"{(facts.on - last).days} days old" if key == "glass" and last else ""
    if last is None:
        how = "not on record"
    elif not how:
        how = _ago((facts.on - last).days)
    return Failing(key, f"{words}: {how}; at most {wanted:g}.", _next(facts, key))


def _algae(facts: Facts, own: Mapping[str, float]) -> Failing | None:
    """A score above the limit; nobody knows when it falls, so no day."""
    wanted = limit_of("algae", own)
    if facts.algae is None or facts.algae <= wanted:
        return None
    return Failing("algae", f"Algae {facts.algae:g} of 4; at most {wanted:g}.")


def _said(facts: Facts, own: Mapping[str, float]) -> list[Failing]:
    """What was said at the gate to the show, and is not enough. Nothing said is not held against
    a tank that is on show: somebody passed that gate, or let it pass."""
    found = []
    for asked in GATES["G7"].asks:
        word = facts.said.get(asked.key)
        if word is None or word.let_pass or asked.key in RESTS or asked.key == "algae":
            continue
        words = _short(asked, word, own)
        if words:
            found.append(Failing(asked.key, words))
    return found


def _short(asked: Asked, word: Said, own: Mapping[str, float]) -> str:
    if not asked.is_number:
        return "" if word.was_so else f"{asked.words}: said not to be so."
    wanted = limit_of(asked.limit, own)
    if word.number is None or word.number >= wanted:
        return ""
    unit = LIMITS[asked.limit].unit
    return f"{asked.words}: {word.number:g} {unit}; at least {wanted:g}."


def _after(last: date, days: float) -> date:
    return last + timedelta(days=-int(-days // 1))


def _next(facts: Facts, key: str) -> date | None:
    planned = facts.planned.get(key)
    return None if planned is None else max(planned, facts.on)


def _ago(days: int) -> str:
    return {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")
