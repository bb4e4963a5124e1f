"""Take an import back as a whole: void what it made, restore what it changed.

For 24 hours. A tank on which something was written since is kept, and so is a value that
somebody changed since; both are named. Facts are never taken away.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.fleet_file.bringing import plain_value
from gallery_ops.fleet_file.planting import restored_lines
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.values.day import business_day
from inventory.queries import items as stock
from inventory.queries.plans import plan_on
from inventory.services import plans as plan_services
from inventory.services.voiding import void_item, void_plan
from maintenance.models import ImportRun
from maintenance.queries import imports
from maintenance.services.imports import note_undone
from tanks.queries import places
from tanks.queries.tanks import tank_now
from tanks.services import layouts, placements, stages, voiding
from tanks.services.places import change_position

HOURS = 24


@dataclass
class Undone:
    """What was taken back, and what is kept with the reason."""

    voided: list[str] = field(default_factory=list)
    restored: int = 0
    kept: list[str] = field(default_factory=list)


@dataclass
class _Undoing:
    """One import on its way back."""

    showroom: Showroom
    run: ImportRun
    by: Membership
    at: datetime
    result: Undone = field(default_factory=Undone)

    @property
    def reason(self) -> str:
        return _("The import of %(name)s was taken back") % {"name": self.run.file_name}

    def made(self, kind: str) -> list[Any]:
        entries: list[Any] = self.run.made.get(kind, [])
        return entries

    def rows(self, kind: str, ids: Iterable[int]) -> dict[int, Any]:
        return {row.pk: row for row in places.rows_by_id(self.showroom, kind, ids)}


def can_undo(run: ImportRun, at: datetime) -> bool:
    """Is it still time?"""
    return run.undone_at is None and at <= run.at + timedelta(hours=HOURS)


@transaction.atomic
def undo_import(*, run: ImportRun, by: Membership, at: datetime) -> Undone:
    """Take one import back.

    Raises
    ------
    Refused
        ``too_late`` after 24 hours, ``already_undone``.
    """
    require(by, "import", in_=run.showroom)
    if not can_undo(run, at) and run.undone_at is None:
        raise Refused(
            "too_late",
            _("An import can be taken back for %(hours)d hours, and this one is older.")
            % {"hours": HOURS},
            remedy=_("Change what is wrong on the pages of the tanks."),
        )
    note_undone(run=run, by=by, at=at)
    undoing = _Undoing(run.showroom, run, by, at)
    touched = _touched(undoing)
    _restore_plans(undoing, touched)
    _restore_layouts(undoing)
    _restore_stages(undoing)
    _restore_tanks(undoing)
    _void_layouts(undoing, touched)
    _void_tanks(undoing, touched)
    _void_rest(undoing)
    return undoing.result


def _touched(undoing: _Undoing) -> dict[int, str]:
    """Tank id -> what was written on it since, for every tank that the import made or planted."""
    ids = {*undoing.made("tank"), *(entry["tank"] for entry in undoing.made("layout"))}
    tanks = list(undoing.rows("tank", ids).values())
    since = undoing.run.at
    found: dict[int, str] = {}
    for written in (places.written_since, imports.written_since, stock.written_since):
        found.update(written(undoing.showroom, tanks, since))
    return found


def _restore_plans(undoing: _Undoing, touched: dict[int, str]) -> None:
    today = business_day(undoing.at, undoing.showroom.tz, undoing.showroom.cut_off_hour)
    made = set(undoing.made("tank"))
    for entry in undoing.made("plan"):
        if entry["tank"] in made and entry["tank"] in touched:
            continue
        plan = stock.plan_by_id(undoing.showroom, entry["id"])
        if plan is None:
            continue
        now = plan_on(undoing.showroom, plan.tank, plan.item, plan.purpose, today)
        if now is None or now.pk != plan.pk:
            _keep(undoing, plan.tank, _("its plan was changed since"))
        elif entry["before"]:
            plan_services.set_plan(
                tank=plan.tank,
                item=plan.item,
                purpose=plan.purpose,
                lines=restored_lines(plan.item, entry["before"]),
                from_on=today,
                by=undoing.by,
                at=undoing.at,
                reason=undoing.reason,
            )
            undoing.result.restored += 1
        else:
            _end_plan(undoing, plan, today)


def _end_plan(undoing: _Undoing, plan: Any, today: Any) -> None:
    try:
        void_plan(plan=plan, by=undoing.by, at=undoing.at, reason=undoing.reason)
    except Refused:
        plan_services.stop_plans(
            tank=plan.tank,
            on=today,
            item=plan.item,
            by=undoing.by,
            at=undoing.at,
            reason=undoing.reason,
        )


def _restore_layouts(undoing: _Undoing) -> None:
    changed = undoing.made("layout_changed")
    rows = undoing.rows("layout", [entry["id"] for entry in changed])
    for entry in changed:
        layout = rows.get(entry["id"])
        if layout is None:
            continue
        values = _values_back(undoing, layout, layout.tank, entry)
        if key := values.get("designer"):
            values["designer"] = undoing.rows("designer", [key]).get(key)
        if values.get("flooded_on"):
            values["flooded_on"] = date.fromisoformat(values["flooded_on"])
        if values:
            layouts.change_layout(layout=layout, by=undoing.by, at=undoing.at, **values)


def _restore_stages(undoing: _Undoing) -> None:
    staged = undoing.made("stage_changed")
    rows = undoing.rows("layout", [entry["id"] for entry in staged])
    for entry in staged:
        layout = rows.get(entry["id"])
        if layout is None:
            continue
        if layout.stage != entry["after"]:
            _keep(undoing, layout.tank, _("its stage was changed since"))
            continue
        stages.advance_stage(
            layout=layout,
            to=entry["before"],
            by=undoing.by,
            at=undoing.at,
            override_reason=undoing.reason,
        )
        undoing.result.restored += 1


def _restore_tanks(undoing: _Undoing) -> None:
    changed = undoing.made("tank_changed")
    rows = undoing.rows("tank", [entry["id"] for entry in changed])
    for entry in changed:
        if tank := rows.get(entry["id"]):
            values = _values_back(undoing, tank, tank, entry)
            if values:
                placements.change_tank(tank=tank, by=undoing.by, at=undoing.at, **values)
    _move_back(undoing)
    altered = undoing.made("position_changed")
    spots = undoing.rows("position", [entry["id"] for entry in altered])
    for entry in altered:
        position = spots.get(entry["id"])
        if position is None:
            continue
        back = dict(entry["before"])
        if "zone" in back:
            back["zone"] = undoing.rows("zone", [back["zone"]]).get(back["zone"])
        change_position(position=position, by=undoing.by, at=undoing.at, **back)
        undoing.result.restored += 1


def _move_back(undoing: _Undoing) -> None:
    moved = undoing.made("tank_moved")
    rows = undoing.rows("tank", [entry["id"] for entry in moved])
    spots = undoing.rows("position", [entry["before"] for entry in moved if entry["before"]])
    for entry in moved:
        tank, spot = rows.get(entry["id"]), spots.get(entry["before"])
        if tank is None:
            continue
        position = tank_now(tank, undoing.at).position
        if spot is None or position is None or position.pk != entry["after"]:
            _keep(undoing, tank, _("it stays where it stands now"))
        elif places.is_taken(spot):
            _keep(undoing, tank, _("its old place is taken"))
        else:
            placements.move_tank(tank=tank, position=spot, by=undoing.by, at=undoing.at)
            undoing.result.restored += 1


def _values_back(undoing: _Undoing, thing: Any, tank: Any, entry: dict[str, Any]) -> dict[str, Any]:
    """The earlier values of those that nobody changed since; the others are named as kept."""
    back: dict[str, Any] = {}
    for name, value in entry["before"].items():
        if plain_value(getattr(thing, name)) == entry["after"][name]:
            back[name] = value
        else:
            _keep(undoing, tank, _("its %(name)s was changed since") % {"name": name})
    undoing.result.restored += len(back)
    return back


def _void_layouts(undoing: _Undoing, touched: dict[int, str]) -> None:
    """Layouts begun in tanks that stood already; those of new tanks go with their tank."""
    made = set(undoing.made("tank"))
    entries = [entry for entry in undoing.made("layout") if entry["tank"] not in made]
    rows = undoing.rows("layout", [entry["id"] for entry in entries])
    for entry in entries:
        layout = rows.get(entry["id"])
        if layout is None:
            continue
        if entry["tank"] in touched:
            _keep(undoing, layout.tank, touched[entry["tank"]])
            continue
        voiding.void_layout(layout=layout, by=undoing.by, at=undoing.at, reason=undoing.reason)
        undoing.result.restored += 1


def _void_tanks(undoing: _Undoing, touched: dict[int, str]) -> None:
    for pk, tank in undoing.rows("tank", undoing.made("tank")).items():
        if pk in touched:
            _keep(undoing, tank, touched[pk])
            continue
        undoing.result.voided.append(tank_now(tank, undoing.at).code)
        placements.void_tank(tank=tank, by=undoing.by, at=undoing.at, reason=undoing.reason)


def _void_rest(undoing: _Undoing) -> None:
    """Places, rooms, zones, people and items that nothing needs any more; the others stay."""
    common = {"by": undoing.by, "at": undoing.at, "reason": undoing.reason}
    services = (
        ("position", voiding.void_position),
        ("room", voiding.void_room),
        ("zone", voiding.void_zone),
        ("designer", voiding.void_designer),
    )
    for kind, void in services:
        for row in undoing.rows(kind, undoing.made(kind)).values():
            _if_free(void, **{kind: row}, **common)
    for key in undoing.made("item"):
        item = stock.item_by_id(undoing.showroom, key)
        if item is not None:
            _if_free(void_item, item=item, **common)


def _if_free(void: Any, **arguments: Any) -> None:
    """Something else stands on it since: then it stays, and that is no error."""
    try:
        void(**arguments)
    except Refused:
        return


def _keep(undoing: _Undoing, tank: Any, why: str) -> None:
    code = tank_now(tank, undoing.at).code
    undoing.result.kept.append(f"{code}: {why}")
