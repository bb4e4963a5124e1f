"""A container on a scale."""

from __future__ import annotations

from gallery_ops.kernel.errors import Held
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, Scale
from inventory.services.weighing import record_weighing
from maintenance.actions.context import Said
from maintenance.services.completions import complete


def apply(said: Said) -> None:
    """Book what it says."""
    body = said.body
    container = (
        Container.objects.of(said.showroom)
        .filter(code=body["container"], voided_at=None)
        .select_related("item", "lot", "showroom")
        .first()
    )
    if container is None:
        raise Held("unknown", "There is no such container here.", remedy="Scan its label again.")
    scales = Scale.objects.of(said.showroom).filter(voided_at=None).order_by("pk")
    scale = scales.filter(name=body["scale"]).first() if body["scale"] else scales.first()
    if scale is None:
        raise Held("unknown", "There is no such scale here.", remedy="Choose the scale.")
    record_weighing(
        container=container,
        gross=Mass(body["gross_mg"]),
        scale=scale,
        regulator_on=bool(body["regulator_on"]),
        **said.moments(),
    )
    if said.envelope.task_id:
        complete(due_task=said.task(), **said.moments())
