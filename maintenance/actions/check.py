"""Somebody looked: all as it should be, or a number, a word, a count, something different.

"All as it should be" never becomes a number: it completes the task of looking and says which looks
were meant. Numbers and words of the catalogue are readings; the rest are observations.
"""

from __future__ import annotations

from maintenance.actions.context import Said
from maintenance.services.completions import complete
from maintenance.services.observations import observe
from tanks.models import Parameter
from tanks.services.readings import record_reading


def apply(said: Said) -> None:
    """One look or reading."""
    body = said.body
    value = body["value"]
    if value == "all_normal":
        task = said.task()
        complete(
            due_task=task,
            answers={"check": body["check"], "looks": body.get("looks") or []},
            **said.moments(),
        )
        return
    if value == "counted":
        _observe(said, kind="animal", data={"counts": body.get("counts") or []})
    elif value == "different" or not _is_parameter(body["check"]):
        _observe(said, kind="look", data={"value": value})
    else:
        record_reading(
            tank=said.tank(),
            parameter=body["check"],
            text=body["text"] or value,
            unit=body["unit"] or "",
            asked_again=body["asked_again"] or "ask_again" in said.waived,
            **said.moments(),
        )
    if said.envelope.task_id and said.task().template.kind != "look":
        complete(due_task=said.task(), answers={"check": body["check"]}, **said.moments())


def _is_parameter(key: str) -> bool:
    return Parameter.objects.filter(key=key).exists()


def _observe(said: Said, *, kind: str, data: dict[str, object]) -> None:
    observe(
        showroom=said.showroom,
        tank=said.tank(),
        round_=said.round_or_none(),
        kind=kind,
        key=said.body["check"],
        text=said.body["text"] or "",
        data={**data, "look": said.body.get("look")},
        **said.moments(),
    )
