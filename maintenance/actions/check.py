"""Somebody looked: all as it should be, or a number, a word, a count, something different.

"All as it should be" never becomes a number: it completes the task of looking and says which looks
were meant. Numbers and words of the catalogue are readings; the rest are observations. Of a number
counts what was typed, of a word its code: what the tablet showed for it is a label.
"""

from __future__ import annotations

import re

from gallery_ops.kernel.errors import Held
from maintenance.actions.context import Said
from maintenance.actions.task_done import CODE, asks_for_a_number, other_task, task_done
from maintenance.models import DueTask
from maintenance.services.completions import complete
from maintenance.services.observations import observe
from tanks.models import Parameter, Room
from tanks.services.readings import record_reading
from tanks.services.rooms import check_room_air

AIR = "room_co2"
PPM = re.compile(r"\d{1,6}")


def apply(said: Said) -> None:
    """One look or reading."""
    body = said.body
    value = body["value"]
    if value == "all_normal":
        look = said.task()
        if look.template.kind != "look":
            raise _no_look(look)
        complete(
            due_task=look,
            answers={"check": body["check"], "looks": body.get("looks") or []},
            **said.moments(),
        )
        return
    asked = Parameter.objects.filter(key=body["check"]).first()
    is_number = value not in {"counted", "different"} and asked is not None
    task = _done_by_it(said, is_number=is_number)
    if value == "counted":
        _observe(said, kind="animal", data={"counts": body.get("counts") or []})
    elif value == "different" or asked is None:
        _observe(said, kind="look", data={"value": value})
    elif said.room_or_none() is not None:
        _in_room(said, said.room_or_none())
    else:
        record_reading(
            tank=said.tank(),
            parameter=body["check"],
            text=value if asked.kind == "list" else body["text"] or value,
            unit=body["unit"] or "",
            asked_again=body["asked_again"] or "ask_again" in said.waived,
            **said.moments(),
        )
    if task is not None:
        complete(due_task=task, answers={"check": body["check"]}, **said.moments())


def _done_by_it(said: Said, *, is_number: bool) -> DueTask | None:
    """The task that this completes. A look is not done by one thing looked at; a test by a number.

    Raises Held for a task that is done otherwise.
    """
    task = task_done(said, "look", "work")
    if task is None or task.template.kind == "look":
        return None
    if is_number and asks_for_a_number(task):
        return task
    if CODE in said.waived:
        return None
    raise other_task(task)


def _no_look(task: DueTask) -> Held:
    """All as it should be says nothing of a dose, a weight or a test, and nothing else is in it."""
    return Held(
        "no_look",
        f"This says that all was as it should be, and does not do {task.template.name}.",
        remedy="It is kept, and the task stays due. Do the task or skip it, and say what was seen "
        "at the look of this tank.",
    )


def _in_room(said: Said, room: Room | None) -> None:
    """The figure of its meter is a check of its air; a word about a room is an observation."""
    if room is None or said.body["check"] != AIR:
        _observe(said, kind="look", data={"value": said.body["value"]})
        return
    value = said.body["value"]
    if not PPM.fullmatch(value):
        raise Held(
            "out_of_range",
            f"Room air: {value[:20]} is not a whole number of ppm.",
            remedy="Read the meter again and enter what it shows.",
        )
    check_room_air(room=room, co2_ppm=int(value), **said.moments())


def _observe(said: Said, *, kind: str, data: dict[str, object]) -> None:
    room = said.room_or_none()
    if room is not None:
        data = {**data, "room": room.name}
    observe(
        showroom=said.showroom,
        tank=said.tank() if room is None else None,
        round_=said.round_or_none(),
        kind=kind,
        key=said.body["check"],
        text=said.body["text"] or "",
        data={**data, "look": said.body.get("look")},
        **said.moments(),
    )
