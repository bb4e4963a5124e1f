"""Bring a list in: every row that can, in one transaction, through the services of the rooms.

All or nothing. Rows that cannot come in stop the whole list, unless the person says that
they are to be left out. What was made and what was changed is written down with the import,
so that it can be taken back.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.fleet_file.bringing import Bringing, before_after, position_of, zone_of
from gallery_ops.fleet_file.full_dose import per_litre
from gallery_ops.fleet_file.plan import OF_GLASS, FleetPlan, RowPlan, is_planted
from gallery_ops.fleet_file.planting import begin_layout, change_layout, set_plans
from gallery_ops.fleet_file.standing import Standing
from gallery_ops.fleet_file.words import PURPOSES
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from maintenance.models import ImportRun
from maintenance.services.imports import begin_import, note_made
from tanks.services import placements, places


@transaction.atomic
def bring_in(
    *,
    showroom: Showroom,
    plan: FleetPlan,
    now: Standing,
    file_name: str,
    by: Membership,
    at: datetime,
    leave_out: bool = False,
) -> ImportRun | None:
    """Write what a plan says; None where it says nothing new.

    leave_out : bring in the good rows although others cannot come in.

    Raises
    ------
    Refused
        ``rows_wrong`` while a row cannot come in and ``leave_out`` is not said; ``already_in``
        when this very file stands already; what a service says about a row, with its number.
    """
    require(by, "import", in_=showroom)
    _refuse_wrong(plan, leave_out)
    if plan.already is None and not plan.of("new", "changed"):
        return None
    wanted = plan.of("new", "changed")
    run = begin_import(
        showroom=showroom,
        sha256=plan.sha256,
        file_name=file_name,
        rows=len(wanted),
        by=by,
        at=at,
    )
    orders = [place.walking_order for place in now.positions.values()]
    bringing = Bringing(
        showroom,
        now,
        by,
        at,
        reason=_("As in the list %(name)s") % {"name": file_name[:150]},
        next_order=max(orders, default=0) + 1,
        full_dose_ul_per_l=per_litre(row.row for row in plan.rows),
    )
    for row in wanted:
        _bring_numbered(bringing, row)
    return note_made(run=run, made=bringing.made, by=by, at=at)


def _refuse_wrong(plan: FleetPlan, leave_out: bool) -> None:
    wrong = plan.of("refused")
    if wrong and not leave_out:
        raise Refused(
            "rows_wrong",
            _("%(count)d of %(all)d rows cannot come in, so nothing was written.")
            % {"count": len(wrong), "all": len(plan.rows)},
            remedy=_("Put them right and read the file again, or say that they are left out."),
        )


def _bring_numbered(bringing: Bringing, plan: RowPlan) -> None:
    """Bring a row; what a service says against it carries the row's number."""
    try:
        bring_row(bringing, plan)
    except Refused as refused:
        raise Refused(
            refused.code,
            _("Row %(row)d, %(code)s: %(sentence)s Nothing was written.")
            % {"row": plan.row.row, "code": plan.row.code, "sentence": refused.sentence},
            refused.fields,
            refused.remedy,
        ) from refused
    except ValidationError as error:
        raise Refused(
            "row_refused",
            _("Row %(row)d, %(code)s: %(sentence)s Nothing was written.")
            % {
                "row": plan.row.row,
                "code": plan.row.code,
                "sentence": " ".join(error.messages),
            },
        ) from error


def bring_row(bringing: Bringing, plan: RowPlan) -> None:
    """Add or change the tank of one row."""
    if plan.tank is None:
        _add(bringing, plan)
    else:
        _change(bringing, plan)


def _add(bringing: Bringing, plan: RowPlan) -> None:
    row = plan.row
    sizes = {name: getattr(row, name) for name in OF_GLASS if getattr(row, name) is not None}
    tank = placements.add_tank(
        showroom=bringing.showroom,
        code=row.code,
        position=position_of(bringing, plan),
        by=bringing.by,
        at=bringing.at,
        **sizes,
    )
    bringing.note("tank", tank.pk)
    if is_planted(row):
        begin_layout(bringing, plan, tank)
        set_plans(bringing, plan, tank, list(PURPOSES))


def _change(bringing: Bringing, plan: RowPlan) -> None:
    assert plan.tank is not None  # noqa: S101  a changed row has the tank that it changes
    row, tank = plan.row, plan.tank.tank
    changed = {change.what for change in plan.changes}
    sizes = {name: getattr(row, name) for name in OF_GLASS if name in changed}
    if sizes:
        bringing.note("tank_changed", before_after(tank, sizes))
        placements.change_tank(tank=tank, by=bringing.by, at=bringing.at, **sizes)
    _change_place(bringing, plan, changed)
    if "layout" in changed:
        begin_layout(bringing, plan, tank)
    elif plan.tank.layout is not None:
        change_layout(bringing, plan, plan.tank.layout, changed)
    set_plans(bringing, plan, tank, [purpose for purpose in PURPOSES if purpose in changed])


def _change_place(bringing: Bringing, plan: RowPlan, changed: set[str]) -> None:
    assert plan.tank is not None  # noqa: S101  as above
    standing_at = plan.tank.position
    if standing_at is None or changed & {"room", "place"}:
        if changed & {"room", "place", "zone"}:
            old = standing_at.pk if standing_at is not None else None
            new = position_of(bringing, plan)
            moved = {"id": plan.tank.tank.pk, "before": old, "after": new.pk}
            bringing.note("tank_moved", moved)
            placements.move_tank(tank=plan.tank.tank, position=new, by=bringing.by, at=bringing.at)
        return
    values: dict[str, Any] = {}
    if "zone" in changed:
        values["zone"] = zone_of(bringing, plan.row.zone or "")
    if "order" in changed:
        values["walking_order"] = plan.row.order
    if values:
        bringing.note("position_changed", before_after(standing_at, values))
        places.change_position(position=standing_at, by=bringing.by, at=bringing.at, **values)
