"""How does an entry read at the tank that it was meant for?"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from uuid import UUID

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.values.day import business_day
from maintenance.actions.context import Said
from maintenance.actions.envelope import Envelope
from maintenance.models import Action, DueTask, Stop
from tanks.models import Tank, TankCode
from tanks.queries.glasses import same_tank

MOVABLE = {"check", "unable", "dose", "feed", "complete", "skip", "animal", "note"}


def moved(said: Said, before: Envelope, action: Action, code: str) -> Envelope:
    """The entry as it reads at the tank that it was meant for."""
    if before.kind not in MOVABLE:
        raise Held(
            "not_to_be_moved",
            "An entry of this kind belongs to no tank.",
            remedy="Enter what is so now instead.",
        )
    done_at = action.done_at_corrected or action.entered_at
    tank = _tank(said, code, action)
    old = _old_task(said, before)
    glasses = same_tank(tank)
    if old is not None and old.tank_id in glasses:
        raise Held("same_tank", f"It stands at {code} already.")
    on = business_day(done_at, said.showroom.tz, said.showroom.cut_off_hour)
    task = _same_task(said, old, glasses, on) if old is not None else None
    stop = _stop(said, before, glasses, on)
    if stop is None and task is None:
        raise Held(
            "no_such_task",
            f"{code} has neither a stop nor such a task on that day.",
            remedy="Take the entry back, and write what happened as a note.",
        )
    inner = dict(before.body)
    if "task" in inner:
        if task is None:
            raise Held(
                "no_such_task",
                f"{code} has no such task on that day.",
                remedy="Take the entry back, and write what happened as a note.",
            )
        inner["task"] = str(task.uid)
    return replace(
        before,
        stop_id=str(stop.uid) if stop is not None else "",
        task_id=str(task.uid) if task is not None else "",
        plan_version="",
        body=inner,
    )


def _tank(said: Said, code: str, action: Action) -> Tank:
    """The tank that had this code when it was done."""
    done_at = action.done_at_corrected or action.entered_at
    row = (
        TankCode.objects.of(said.showroom)
        .filter(code__iexact=code.strip(), voided_at=None)
        .at(done_at)
        .select_related("tank__showroom")
        .first()
    )
    if row is None:
        raise Held("unknown", "There was no such tank here then.", remedy="Read its label again.")
    tank: Tank = row.tank
    return tank


def _old_task(said: Said, before: Envelope) -> DueTask | None:
    wanted = str(before.body.get("task") or before.task_id)
    if not wanted:
        return None
    try:
        uid = UUID(wanted)
    except ValueError:
        return None
    found: DueTask | None = (
        DueTask.objects.of(said.showroom).filter(uid=uid).select_related("template").first()
    )
    return found


def _same_task(said: Said, old: DueTask, glasses: list[int], on: date) -> DueTask | None:
    """The task of the same name that the other tank has on that day; else one of its kind."""
    rows = list(
        DueTask.objects.of(said.showroom)
        .filter(
            tank__in=glasses,
            due_on=on,
            template__kind=old.template.kind,
            template__round_kind=old.template.round_kind,
        )
        .exclude(state="dropped")
        .select_related("template")
        .order_by("pk")
    )
    same = [row for row in rows if row.template.key == old.template.key]
    if same or old.template.kind == "work":
        return same[0] if same else None
    return rows[0] if rows else None


def _stop(said: Said, before: Envelope, glasses: list[int], on: date) -> Stop | None:
    """Its stop of the same round; else of another round of that day."""
    rows = list(
        Stop.objects.of(said.showroom)
        .filter(tank__in=glasses, round__business_on=on)
        .select_related("round")
        .order_by("pk")
    )
    same = [row for row in rows if str(row.round.uid) == before.round_id]
    return next(iter(same + rows), None)
