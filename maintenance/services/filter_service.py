"""A filter service that was done is a service of the filter itself, with the flow measured then.

Said as a task (``filter_service``, answers ``flow_before`` and ``flow_after`` in L/h), kept as a
fact of the one filter that served the tank then. Where several filters serve a tank nobody said
which of them it was: nothing is written of them here, the page of the equipment is the place to
say it.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Unpack

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Held, Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.services.facts import Said, moment_of
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.limits import BadNumber
from gallery_ops.kernel.values.text import parse_decimal
from maintenance.models import DueTask
from maintenance.services.completions import complete
from tanks.models import Equipment, EquipmentService, Tank
from tanks.services.equipment import look_after

KEY = "filter_service"
BEFORE, AFTER = "flow_before", "flow_after"


def note_service(
    *,
    due_task: DueTask,
    tank: Tank,
    answers: Mapping[str, Any],
    by: Membership,
    at: datetime,
    **said: Unpack[Said],
) -> EquipmentService | None:
    """Write down what the task says of the filter; None where it says nothing of one filter.

    Raises
    ------
    Refused
        ``out_of_range`` for a flow that cannot be.
    """
    if due_task.template.key != KEY:
        return None
    before, after = _flow(answers, BEFORE), _flow(answers, AFTER)
    moment = moment_of(at, said)
    filters = list(
        Equipment.objects.of(tank.showroom).filter(tank=tank, kind="filter").at(moment)[:2]
    )
    if len(filters) != 1:
        return None
    text = "" if before is None else _("before it: %(n)s L/h") % {"n": f"{before:g}"}
    return look_after(
        equipment=filters[0],
        what="cleaned",
        flow_l_per_h=after,
        text=text,
        by=by,
        at=at,
        **said,
    )


@transaction.atomic
def looked_after(
    *,
    equipment: Equipment,
    what: str,
    flow_l_per_h: float | None,
    text: str,
    by: Membership,
    at: datetime,
) -> DueTask | None:
    """Somebody looked after a piece, said at a desk; gives the filter service that is done with it.

    None where none was due, and where this person is not signed off for it: then it stays due.
    Raises as ``look_after``.
    """
    look_after(equipment=equipment, what=what, flow_l_per_h=flow_l_per_h, text=text, by=by, at=at)
    if equipment.kind != "filter" or what != "cleaned":
        return None
    showroom = equipment.showroom
    task: DueTask | None = (
        DueTask.objects.of(showroom)
        .filter(
            tank=equipment.tank_id,
            template__key=KEY,
            state="open",
            due_on__lte=business_day(at, showroom.tz, showroom.cut_off_hour),
        )
        .select_related("template", "showroom")
        .order_by("-due_on", "-pk")
        .first()
    )
    if task is None:
        return None
    try:
        complete(due_task=task, by=by, at=at, answers={AFTER: flow_l_per_h})
    except Held:
        return None
    return task


def _flow(answers: Mapping[str, Any], key: str) -> float | None:
    """A flow as a tablet or a form says it: a number, its text, or nothing."""
    value = answers.get(key)
    if value is None or value == "" or isinstance(value, bool):
        return None
    if isinstance(value, int | float):
        return float(value)
    try:
        return float(parse_decimal(str(value), field=str(_("Flow"))))
    except BadNumber as trouble:
        raise Refused.from_range(trouble, field=key) from trouble
