"""Which tasks does a new gallery start with, and is the list of them in order?

Reads and checks `maintenance/catalogue/tasks.toml`: a row of the file becomes a frozen `Task`. What
becomes of it in the database is decided elsewhere.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Final

from gallery_ops.kernel.values.limits import OutOfRange
from maintenance.schedule.lateness import HarmClass, Shift
from maintenance.schedule.recurrence import read_rule, read_rule_from_done
from maintenance.schedule.spread import rule_for

SCOPES: Final = ("tank", "room", "zone", "fleet")
ROUNDS: Final = ("", "opening", "midday", "closing")
COUNTS_FROM: Final = ("due", "done", "flooding")
SKILLS: Final = ("C1", "C2", "C3", "D", "T")
STAGES: Final = ("start_up", "grow_in", "show", "recovery", "decline", "in_use")
ONLY_WITH: Final = (
    "", "dose_plan", "feed_plan", "gas_plan", "gas_ends", "gas_changed", "gas_next_day", "feeder",
    "pump_bottle", "clock_change", "tank_in_room",
)  # fmt: skip
TASK_KINDS: Final = ("work", "look", "feed", "dose", "weigh")
KINDS: Final = ("look", "count", "reading", "amount", "yes_no", "text")
FALLBACK: Final = "en"
_TASK_FIELDS: Final = frozenset(
    [
        "name",
        "scope",
        "round",
        "rule",
        "spread",
        "counts_from",
        "from_day",
        "to_day",
        "at",
        "harm",
        "skill",
        "minutes",
        "stages",
        "only_with",
        "kind",
        "closed",
        "questions",
    ]
)


@dataclass(frozen=True, slots=True)
class Question:
    """What is measured or said when a task is ticked. unit : UCUM, for an amount."""

    key: str
    kind: str
    words: Mapping[str, str]
    unit: str = ""
    parameter: str = ""


@dataclass(frozen=True, slots=True)
class Task:
    """One row of the catalogue.

    minutes : planned minutes, one for each size band (all the same when the size does not matter).
    from_day, to_day : first and last day of the layout, counted from flooding; None = no limit.
    at : local time of day, None = any time of that business day.
    """

    key: str
    names: Mapping[str, str]
    scope: str
    rule: str
    counts_from: str
    harm: HarmClass
    skill: str
    minutes: tuple[Decimal, ...]
    closed: Shift
    round: str = ""
    at: time | None = None
    is_spread: bool = False
    from_day: int | None = None
    to_day: int | None = None
    stages: tuple[str, ...] = ()
    only_with: str = ""
    kind: str = "work"
    questions: tuple[str, ...] = ()

    def name(self, language: str) -> str:
        """The name in this language, or in English."""
        return self.names.get(language, self.names[FALLBACK])


@dataclass(frozen=True, slots=True)
class TaskCatalogue:
    """The checked file. size_bands_l : outer volume [L] up to which a tank is in a band."""

    tasks: tuple[Task, ...]
    questions: Mapping[str, Question]
    size_bands_l: tuple[int, ...]

    def minutes_for(self, task: Task, outer_volume_l: Decimal | float | None = None) -> Decimal:
        """Planned minutes of a task on a tank of this outer volume [L]."""
        return minutes_for(task.minutes, self.size_bands_l, outer_volume_l)


def minutes_for(
    minutes: tuple[Decimal, ...], bands_l: tuple[int, ...], outer_volume_l: Decimal | float | None
) -> Decimal:
    """The number of the band that the outer volume [L] falls in; the largest when unknown.

    >>> minutes_for((Decimal(15), Decimal(25), Decimal(40)), (50, 100), 64.8)
    Decimal('25')
    """
    if len(minutes) == 1 or outer_volume_l is None:
        return minutes[-1]
    for planned, up_to in zip(minutes, bands_l, strict=False):
        if outer_volume_l <= up_to:
            return planned
    return minutes[-1]


def read_tasks(path: Path) -> TaskCatalogue:
    """The catalogue in this file. Raises OutOfRange naming row and field."""
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise OutOfRange(path.name, "a TOML file in UTF-8", str(error)) from error
    return tasks_from(content)


def tasks_from(content: Mapping[str, object]) -> TaskCatalogue:
    """The checked catalogue from the content of its file."""
    bands = _bands(content.get("size_bands_l"))
    questions = {
        key: _question(key, row) for key, row in _table("question", content.get("question")).items()
    }
    tasks = tuple(
        _task(key, _table(key, row), len(bands) + 1)
        for key, row in _table("task", content.get("task")).items()
    )
    for task in tasks:
        for asked in task.questions:
            if asked not in questions:
                raise _refused(task.key, "questions", "a key of the question table", asked)
    return TaskCatalogue(tasks=tasks, questions=questions, size_bands_l=bands)


def _task(key: str, row: Mapping[str, object], bands: int) -> Task:
    unknown = sorted(set(row) - _TASK_FIELDS)
    if unknown:
        raise _refused(key, unknown[0], f"one of {', '.join(sorted(_TASK_FIELDS))}", "")
    counts_from = _choice(key, row, "counts_from", COUNTS_FROM)
    scope = _choice(key, row, "scope", SCOPES)
    task = Task(
        key=key,
        names=_words(key, row.get("name")),
        scope=scope,
        rule=_rule(key, row, counts_from),
        counts_from=counts_from,
        harm=HarmClass(_choice(key, row, "harm", tuple(HarmClass))),
        skill=_choice(key, row, "skill", SKILLS),
        minutes=_minutes(key, row.get("minutes"), bands if scope == "tank" else 1),
        closed=Shift(_choice(key, row, "closed", tuple(Shift))),
        round=_choice(key, row, "round", ROUNDS),
        at=_time(key, row.get("at")),
        is_spread=row.get("spread") is True,
        from_day=_day(key, row, "from_day"),
        to_day=_day(key, row, "to_day"),
        stages=_list(key, row, "stages", STAGES),
        only_with=_choice(key, row, "only_with", ONLY_WITH),
        kind=_choice(key, row, "kind", TASK_KINDS, unless="work"),
        questions=_list(key, row, "questions", None),
    )
    _check_together(task)
    return task


def _check_together(task: Task) -> None:
    if task.harm is HarmClass.A and (task.closed is not Shift.KEEP or task.at is None):
        raise _refused(task.key, "closed, at", "keep and a time of day, for class A", task.closed)
    if (task.scope == "tank") != bool(task.stages):
        raise _refused(task.key, "stages", "stages for a tank, none otherwise", task.stages)
    if (task.counts_from == "flooding") != (task.from_day is not None):
        raise _refused(
            task.key, "from_day", 'a day, with counts_from "flooding" only', task.from_day
        )
    if task.counts_from == "flooding" and task.scope != "tank":
        raise _refused(task.key, "scope", "tank, for a task counted from flooding", task.scope)
    if task.to_day is not None and (task.from_day is None or task.to_day < task.from_day):
        raise _refused(task.key, "to_day", "a day not before from_day", task.to_day)
    if task.round and task.at is None:
        raise _refused(task.key, "at", "a time of day, for a task of a round", "")


def _rule(key: str, row: Mapping[str, object], counts_from: str) -> str:
    text = row.get("rule")
    if not isinstance(text, str):
        raise _refused(key, "rule", "a rule as in RFC 5545", text)
    try:
        if row.get("spread") is True:
            rule_for(text, 0)
        return read_rule(text) if counts_from == "due" else read_rule_from_done(text)
    except OutOfRange as error:
        raise _refused(key, "rule", error.allowed, text) from error


def _minutes(key: str, value: object, bands: int) -> tuple[Decimal, ...]:
    listed = value if isinstance(value, list) else [value]
    if len(listed) not in (1, bands):
        raise _refused(key, "minutes", f"one number, or one for each of {bands} bands", value)
    return tuple(_minute(key, number) for number in listed)


def _minute(key: str, value: object) -> Decimal:
    try:
        minutes = Decimal(value) if isinstance(value, str) else None
    except InvalidOperation:
        minutes = None
    if minutes is None or not 0 < minutes <= 480:
        raise _refused(key, "minutes", 'more than 0, at most 480, written as text: "0.5"', value)
    return minutes


def _time(key: str, value: object) -> time | None:
    if value is None:
        return None
    try:
        return time.fromisoformat(str(value)).replace(second=0, microsecond=0, tzinfo=None)
    except ValueError as error:
        raise _refused(key, "at", "a time of day such as 09:00", value) from error


def _day(key: str, row: Mapping[str, object], field: str) -> int | None:
    value = row.get(field)
    if value is None:
        return None
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= 366:
        raise _refused(key, field, "a day of the layout, 0 to 366", value)
    return value


def _choice(
    key: str,
    row: Mapping[str, object],
    field: str,
    allowed: tuple[str, ...],
    unless: str | None = None,
) -> str:
    value = row.get(field, "" if "" in allowed else unless)
    if value not in allowed:
        raise _refused(key, field, ", ".join(word or "nothing" for word in allowed), value)
    return str(value)


def _list(
    key: str, row: Mapping[str, object], field: str, allowed: tuple[str, ...] | None
) -> tuple[str, ...]:
    value = row.get(field, [])
    if not isinstance(value, list) or not all(isinstance(word, str) for word in value):
        raise _refused(key, field, "a list of words", value)
    wrong = [word for word in value if allowed is not None and word not in allowed]
    if wrong:
        raise _refused(key, field, ", ".join(allowed or ()), wrong[0])
    return tuple(value)


def _question(key: str, row: object) -> Question:
    content = _table(key, row)
    kind = _choice(key, content, "kind", KINDS)
    words = {
        name: str(word)
        for name, word in content.items()
        if name not in ("kind", "unit", "parameter")
    }
    unit, parameter = str(content.get("unit", "")), str(content.get("parameter", ""))
    if (kind == "reading") != bool(parameter) or (kind == "amount") != bool(unit):
        raise _refused(key, "kind", "a parameter for a reading, a unit for an amount", kind)
    return Question(key, kind, _words(key, words), unit, parameter)


def _words(key: str, value: object) -> Mapping[str, str]:
    words = _table(key, value)
    if not isinstance(words.get(FALLBACK), str) or not all(
        isinstance(word, str) and 0 < len(word) <= 60 for word in words.values()
    ):
        raise _refused(key, "name", "a name of 1 to 60 characters, in English at least", value)
    return {language: str(word) for language, word in words.items()}


def _bands(value: object) -> tuple[int, ...]:
    if (
        not isinstance(value, list)
        or not value
        or not all(isinstance(up_to, int) for up_to in value)
    ):
        raise _refused("catalogue", "size_bands_l", "litres in rising order", value)
    if value != sorted(set(value)):
        raise _refused("catalogue", "size_bands_l", "litres in rising order", value)
    return tuple(value)


def _table(key: str, value: object) -> Mapping[str, object]:
    if not isinstance(value, dict):
        raise _refused(key, "content", "a table", value)
    return value


def _refused(key: str, field: str, allowed: str, got: object) -> OutOfRange:
    return OutOfRange(f"Task {key}, {field}", allowed, str(got), "Change the list of tasks.")
