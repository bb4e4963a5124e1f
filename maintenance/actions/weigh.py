"""A container on a scale."""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Scale
from inventory.services.weighing import record_weighing
from maintenance.actions.context import Said
from maintenance.actions.task_done import task_done
from maintenance.services.completions import complete
from maintenance.services.observations import observe


def apply(said: Said) -> None:
    """Book what it says; words of what was odd are kept beside it."""
    body = said.body
    task = task_done(said, "weigh")
    container = said.container(body["container"])
    scales = Scale.objects.of(said.showroom).filter(voided_at=None).order_by("pk")
    scale = scales.filter(name=body["scale"]).first() if body["scale"] else scales.first()
    if scale is None:
        raise Held("unknown", "There is no such scale here.", remedy="Choose the scale.")
    record_weighing(
        container=container,
        gross=Mass(body["gross_mg"]),
        scale=scale,
        regulator_on=bool(body["regulator_on"]),
        asked_again=bool(body.get("asked_again")) or "ask_full" in said.waived,
        **said.moments(),
    )
    note = (body.get("note") or "").strip()
    if note:
        observe(
            showroom=said.showroom,
            kind="note",
            key="weighing",
            text=note,
            data={"container": container.code},
            **said.moments(),
        )
    if task is not None:
        complete(due_task=task, **said.moments())
