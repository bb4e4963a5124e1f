"""One tank is added or changed by a form: the same plan and the same services as a list."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.fleet_file.apply import bring_row
from gallery_ops.fleet_file.bringing import Bringing
from gallery_ops.fleet_file.plan import EMPTY_STAGES, RowPlan, is_planted, plan_row
from gallery_ops.fleet_file.read import FleetFile
from gallery_ops.fleet_file.standing import Standing, standing
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from inventory.services.plans import stop_plans
from tanks.models import Tank
from tanks.queries.tanks import TankNow, tank_by_code
from tanks.services.layouts import close_layout
from tanks.services.placements import rename_tank


@transaction.atomic
def write_tank(
    *,
    showroom: Showroom,
    file: FleetFile,
    by: Membership,
    at: datetime,
    tank: TankNow | None = None,
    reason: str = "",
) -> Tank:
    """Add the one tank of a form, or change ``tank`` to what the form says.

    reason : why a stage is passed over, where the order of stages does not allow it

    Raises
    ------
    Refused
        with a sentence per field (by the key of the column).
    """
    require(by, "plan.change", in_=showroom)
    now = standing(showroom, at)
    (row,) = file.rows
    new_code = row.code
    if tank is not None:
        row = replace(row, code=tank.code)
    _refuse_taken(new_code, tank, now)
    plan = plan_row(row, file, now)
    _refuse_problems(plan)
    stands_empty = tank is None or tank.layout is None
    if stands_empty and is_planted(row) and not row.stage:
        sentence = _("A layout begins here: choose the stage that it is in.")
        raise Refused("no_stage", sentence, {"stage": sentence})
    orders = [place.walking_order for place in now.positions.values()]
    bringing = Bringing(showroom, now, by, at, reason=reason, next_order=max(orders, default=0) + 1)
    if plan.fate in {"new", "changed"}:
        bring_row(bringing, plan)
    if tank is None:
        return tank_by_code(showroom, new_code, at).tank
    if tank.layout is not None and row.stage in EMPTY_STAGES:
        close_layout(layout=tank.layout, by=by, at=at)
        stop_plans(tank=tank.tank, on=now.on, by=by, at=at, reason=reason)
    if new_code != tank.code:
        rename_tank(tank=tank.tank, code=new_code, by=by, at=at)
    return tank.tank


def _refuse_taken(code: str, tank: TankNow | None, now: Standing) -> None:
    holder = now.tanks.get(code.casefold())
    if holder is not None and (tank is None or holder.tank.pk != tank.tank.pk):
        sentence = _("Another tank is called %(code)s. Choose another code.") % {"code": code}
        raise Refused("code_taken", sentence, {"code": sentence})


def _refuse_problems(plan: RowPlan) -> None:
    problems = plan.row.problems
    if problems:
        fields = {problem.letter: problem.allowed for problem in problems}
        raise Refused("wrong_fields", " ".join(fields.values()), fields)
