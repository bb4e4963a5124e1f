"""Which task templates does a showroom have, and how are they changed?

A template in force is never edited: it is closed and the next version opened, so that a task done
last month still knows by which version it was due. The catalogue is where a showroom starts; what a
person changed or closed stays as that person left it when the catalogue is read again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.db import transaction

import maintenance
from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import HarmClass, Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import record_audit
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.limits import OutOfRange
from maintenance.models import TaskTemplate
from maintenance.schedule.lateness import Shift
from maintenance.schedule.recurrence import read_rule, read_rule_from_done
from maintenance.schedule.spread import rule_for
from maintenance.schedule.task_catalogue import Task, TaskCatalogue, read_tasks

CATALOGUE = Path(maintenance.__file__).parent / "catalogue" / "tasks.toml"
CHANGEABLE = frozenset(
    [
        "rule",
        "due_time",
        "harm_class",
        "skill",
        "minutes_by_size",
        "on_closed_day",
        "stages",
        "name",
    ]
)


@dataclass(frozen=True, slots=True)
class Loaded:
    """What a reading of the catalogue did: keys of the tasks."""

    made: tuple[str, ...]
    renewed: tuple[str, ...]
    kept: tuple[str, ...]


@lru_cache(maxsize=1)
def catalogue() -> TaskCatalogue:
    """The checked list of tasks that a showroom starts with."""
    return read_tasks(CATALOGUE)


def load_templates(*, showroom: Showroom, at: datetime) -> Loaded:
    """Bring the catalogue's tasks into the showroom; reading it twice changes nothing.

    A row that came from the catalogue and differs from it now gets a new version. A row that a
    person changed or closed is left alone.
    """
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    made, renewed, kept = [], [], []
    with transaction.atomic():
        newest = _newest(showroom)
        for task in catalogue().tasks:
            values = _values(task, catalogue(), showroom.language)
            standing = newest.get(task.key)
            if standing is None:
                _open(showroom, task.key, 1, today, values)
                made.append(task.key)
            elif _is_outdated(standing, values["catalogue_digest"]):
                _close(standing, today)
                _open(showroom, task.key, standing.version + 1, today, values)
                renewed.append(task.key)
            else:
                kept.append(task.key)
        if made or renewed:
            want_work(showroom, "due_tasks", at=at)
    return Loaded(tuple(made), tuple(renewed), tuple(kept))


def change_template(
    *, showroom: Showroom, key: str, changes: Mapping[str, Any], by: Membership, at: datetime
) -> TaskTemplate:
    """Close the version in force and open the next with these changes.

    changes : any of the columns in CHANGEABLE, by name.

    Raises
    ------
    Refused
        without the right, or when a value is not allowed; the field is named.
    Unknown
        when no template of this key is in force.
    """
    require(by, "plan.change", in_=showroom, at=at)
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    with transaction.atomic():
        standing = _in_force(showroom, key)
        values = _row_values(standing) | dict(changes)
        _check(changes, values)
        _close(standing, today)
        opened = _open(
            showroom, key, standing.version + 1, today, values | {"catalogue_digest": ""}
        )
        record_audit(
            showroom=showroom,
            by=by,
            at=at,
            deed="task_template.change",
            subject_kind="task_template",
            subject_key=key,
            before={name: getattr(standing, name) for name in changes},
            after={name: getattr(opened, name) for name in changes},
        )
        want_work(showroom, "due_tasks", at=at)
    return opened


def stop_template(*, showroom: Showroom, key: str, by: Membership, at: datetime) -> TaskTemplate:
    """Close the version in force, so that the task is due no more. Raises as `change_template`."""
    require(by, "plan.change", in_=showroom, at=at)
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    with transaction.atomic():
        standing = _in_force(showroom, key)
        if standing.harm_class == HarmClass.A:
            raise Refused(
                "class_a_stays",
                "A task that animals or people depend on every day is not stopped.",
                {"harm_class": "Class A"},
                "Change its rule or its time instead.",
            )
        _close(standing, today)
        record_audit(
            showroom=showroom,
            by=by,
            at=at,
            deed="task_template.stop",
            subject_kind="task_template",
            subject_key=key,
        )
        want_work(showroom, "due_tasks", at=at)
    return standing


def _in_force(showroom: Showroom, key: str) -> TaskTemplate:
    standing: TaskTemplate | None = (
        TaskTemplate.objects.of(showroom).select_for_update().filter(key=key, to_on=None).first()
    )
    if standing is None:
        raise Unknown("task template")
    return standing


def _newest(showroom: Showroom) -> dict[str, TaskTemplate]:
    rows = TaskTemplate.objects.of(showroom).select_for_update().order_by("key", "version")
    return {row.key: row for row in rows}


def _is_outdated(standing: TaskTemplate, digest: str) -> bool:
    """Made from the catalogue, still in force, and the catalogue says something else now."""
    return (
        bool(standing.catalogue_digest)
        and standing.to_on is None
        and (standing.catalogue_digest != digest)
    )


def _open(
    showroom: Showroom, key: str, version: int, today: date, values: Mapping[str, Any]
) -> TaskTemplate:
    made: TaskTemplate = TaskTemplate.objects.create(
        showroom=showroom, key=key, version=version, from_on=today, **values
    )
    return made


def _close(standing: TaskTemplate, today: date) -> None:
    TaskTemplate.objects.filter(pk=standing.pk, to_on=None).update(to_on=today)


def _values(task: Task, whole: TaskCatalogue, language: str) -> dict[str, Any]:
    """The columns of a catalogue row, with a digest by which a later change of the row shows."""
    values: dict[str, Any] = {
        "name": task.name(language),
        "kind": task.kind,
        "scope": task.scope,
        "rule": task.rule,
        "counts_from": task.counts_from,
        "from_day": task.from_day,
        "to_day": task.to_day,
        "is_spread": task.is_spread,
        "on_closed_day": str(task.closed),
        "only_with": task.only_with,
        "due_time": task.at,
        "round_kind": task.round,
        "stages": list(task.stages),
        "harm_class": str(task.harm),
        "skill": task.skill,
        "minutes_by_size": minutes_as_stored(task, whole),
        "questions": [_question(key, whole, language) for key in task.questions],
    }
    text = json.dumps(values, sort_keys=True, default=str)
    return values | {"catalogue_digest": hashlib.sha256(text.encode()).hexdigest()}


def minutes_as_stored(task: Task, whole: TaskCatalogue) -> dict[str, Any]:
    """Planned minutes as a template keeps them: bands [L] and one text each, the last for the rest.

    Minutes are texts, so that half a minute stays exact.
    """
    bands = list(whole.size_bands_l) if len(task.minutes) > 1 else []
    return {"up_to_l": bands, "minutes": [str(minutes) for minutes in task.minutes]}


def _question(key: str, whole: TaskCatalogue, language: str) -> dict[str, str]:
    asked = whole.questions[key]
    words = asked.words.get(language, asked.words["en"])
    told = {"key": key, "kind": asked.kind, "text": words}
    if asked.unit:
        told["unit"] = asked.unit
    if asked.parameter:
        told["parameter"] = asked.parameter
    return told


def _row_values(standing: TaskTemplate) -> dict[str, Any]:
    own = ("id", "showroom", "key", "version", "from_on", "to_on", "catalogue_digest")
    return {
        field.name: getattr(standing, field.name)
        for field in TaskTemplate._meta.concrete_fields
        if field.name not in own
    }


def _check(changes: Mapping[str, Any], values: dict[str, Any]) -> None:
    strangers = sorted(set(changes) - CHANGEABLE)
    if strangers:
        raise Refused(
            "not_changeable",
            f"{strangers[0]} of a task cannot be changed.",
            {strangers[0]: f"Allowed: {', '.join(sorted(CHANGEABLE))}."},
        )
    try:
        read = read_rule if values["counts_from"] == "due" else read_rule_from_done
        values["rule"] = read(values["rule"])
        if values["is_spread"]:
            rule_for(values["rule"], 0)
    except OutOfRange as error:
        raise Refused.from_range(error, field="rule") from error
    for field, is_wrong, sentence in _WRONG:
        if is_wrong(values):
            raise Refused("out_of_range", sentence, {field: sentence})


_WRONG: tuple[tuple[str, Callable[[dict[str, Any]], bool], str], ...] = (
    (
        "harm_class",
        lambda row: row["harm_class"] not in HarmClass.values,
        "Harm class: A, B, C or D.",
    ),
    (
        "on_closed_day",
        lambda row: row["on_closed_day"] not in tuple(Shift),
        "On a closed day: keep, earlier or later.",
    ),
    (
        "due_time",
        lambda row: row["due_time"] is not None and not isinstance(row["due_time"], time),
        "Due at: a time of day such as 09:00.",
    ),
    (
        "on_closed_day",
        lambda row: row["harm_class"] == HarmClass.A and row["on_closed_day"] != Shift.KEEP,
        "A task of class A stays on its day, closed or not.",
    ),
    (
        "due_time",
        lambda row: row["harm_class"] == HarmClass.A and row["due_time"] is None,
        "A task of class A has a time of day, such as 09:00.",
    ),
)
