"""The glass: bring it in, call it something, move it, change what was noted of it, retire it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import write_new
from gallery_ops.kernel.services.work import want_work
from tanks.models import Placement, Position, Purpose, Tank, TankCode
from tanks.queries.tanks import glass_after

CHANGEABLE = (
    "length_mm",
    "width_mm",
    "height_mm",
    "glass_mm",
    "base_mm",
    "kind_of_glass",
    "purpose",
    "maker_volume_note",
    "acquired_on",
)


@transaction.atomic
def add_tank(
    *,
    showroom: Showroom,
    code: str,
    length_mm: int,
    width_mm: int,
    height_mm: int,
    glass_mm: int,
    by: Membership,
    at: datetime,
    position: Position | None = None,
    purpose: str = Purpose.DISPLAY,
    kind_of_glass: str = "float",
    maker_volume_note: str = "",
    acquired_on: date | None = None,
    came_from: Tank | None = None,
) -> Tank:
    """A new glass with its code, standing at ``position`` from ``at`` on.

    ``came_from`` is the glass of which it was a part until now.
    """
    require(by, "plan.change", in_=showroom)
    tank = Tank(
        showroom=showroom,
        length_mm=length_mm,
        width_mm=width_mm,
        height_mm=height_mm,
        glass_mm=glass_mm,
        purpose=purpose,
        kind_of_glass=kind_of_glass,
        maker_volume_note=maker_volume_note,
        acquired_on=acquired_on,
        came_from=came_from,
    )
    write_new(tank)
    _give_code(tank, code, at)
    if position is not None:
        _place(tank, position, at)
    audit.record(
        by=by, at=at, deed="tank.added", subject=tank, after={"code": code, **_sizes(tank)}
    )
    want_work(showroom, "due_tasks", at=at)
    return tank


@transaction.atomic
def change_tank(*, tank: Tank, by: Membership, at: datetime, **changes: Any) -> Tank:
    """Put right what was noted of a glass. Its place and its layout have services of their own."""
    require(by, "plan.change", in_=tank.showroom)
    strange = set(changes) - set(CHANGEABLE)
    if strange:
        raise Refused("unknown_field", f"A tank has no {', '.join(sorted(strange))}.")
    tank = _locked(tank)
    before = {key: getattr(tank, key) for key in changes}
    if before == changes:
        return tank
    for key, value in changes.items():
        setattr(tank, key, value)
    tank.full_clean()
    tank.save(update_fields=list(changes))
    audit.record(by=by, at=at, deed="tank.changed", subject=tank, before=before, after=changes)
    return tank


@transaction.atomic
def rename_tank(*, tank: Tank, code: str, by: Membership, at: datetime) -> TankCode:
    """Call it something else from now on; the old code still finds it."""
    require(by, "plan.change", in_=tank.showroom)
    tank = _locked(tank)
    old = TankCode.objects.filter(tank=tank, voided_at=None).still().first()
    if old is not None:
        if old.code == code.strip():
            return old
        old.to_at = at
        old.save(update_fields=["to_at"])
    new = _give_code(tank, code, at)
    audit.record(
        by=by,
        at=at,
        deed="tank.renamed",
        subject=tank,
        before={"code": old.code if old else None},
        after={"code": new.code},
    )
    return new


@transaction.atomic
def move_tank(*, tank: Tank, position: Position, by: Membership, at: datetime) -> Placement:
    """It stands somewhere else from now on."""
    require(by, "plan.change", in_=tank.showroom)
    tank = _locked(tank)
    old = Placement.objects.filter(tank=tank, voided_at=None).still().first()
    if old is not None:
        if old.position_id == position.pk:
            return old
        old.to_at = at
        old.save(update_fields=["to_at"])
    new = _place(tank, position, at)
    audit.record(
        by=by,
        at=at,
        deed="tank.moved",
        subject=tank,
        before={"position": old.position_id if old else None},
        after={"position": position.pk},
    )
    return new


@transaction.atomic
def retire_tank(
    *, tank: Tank, by: Membership, at: datetime, reason: str = "", went_into: Tank | None = None
) -> Tank:
    """It is out of service for good; its history stays and its code is free again.

    ``went_into`` is the glass that took in what lived here: old labels lead there.
    """
    require(by, "plan.change", in_=tank.showroom)
    tank = _locked(tank)
    if tank.layouts.filter(voided_at=None).still().exists():
        raise Refused(
            "layout_stands", "A layout still stands in this tank.", remedy="Close the layout first."
        )
    tank.retired_at, tank.went_into = at, went_into
    tank.save(update_fields=["retired_at", "went_into"])
    tank.codes.still().update(to_at=at)
    tank.placements.still().update(to_at=at)
    audit.record(by=by, at=at, deed="tank.retired", subject=tank, reason=reason)
    want_work(tank.showroom, "due_tasks", at=at)
    return tank


@transaction.atomic
def void_tank(*, tank: Tank, by: Membership, at: datetime, reason: str) -> Tank:
    """It was entered by mistake: it, its code and its place count as never written.

    The caller has made sure that no fact names it.
    """
    require(by, "plan.change", in_=tank.showroom)
    tank = _locked(tank)
    tank.voided_at = at
    tank.save(update_fields=["voided_at"])
    for rows in (tank.codes, tank.placements, tank.layouts):
        rows.filter(voided_at=None).update(voided_at=at)
    tank.public_codes.still().update(to_at=at)
    audit.record(by=by, at=at, deed="tank.voided", subject=tank, reason=reason)
    want_work(tank.showroom, "due_tasks", at=at)
    return tank


@transaction.atomic
def into_service(
    *, tank: Tank, code: str, position: Position | None, by: Membership, at: datetime, reason: str
) -> Tank:
    """A glass that was out of service stands again from ``at`` on, vacant, under this code.

    The time between stays a gap in its codes and places. Refused for a glass that another one
    replaced, and for one whose animals went into another tank: its code and label lead there.
    """
    require(by, "plan.change", in_=tank.showroom)
    tank = _locked(tank)
    if tank.retired_at is None or tank.voided_at is not None:
        raise Refused("in_service", _("This tank is in service."))
    if tank.went_into is not None:
        raise Refused(
            "joined",
            _("What lived here went into another tank, and old labels lead there."),
            {},
            _("Add a tank: the glass gets a new history."),
        )
    if glass_after(tank, at) != tank:
        raise Refused("glass_gone", _("Another glass stands in its place."))
    out_since = tank.retired_at
    tank.retired_at = None
    tank.save(update_fields=["retired_at"])
    _give_code(tank, code, at)
    if position is not None:
        _place(tank, position, at)
    audit.record(
        by=by,
        at=at,
        deed="tank.into_service",
        subject=tank,
        before={"retired_at": out_since.isoformat()},
        after={"code": code.strip(), "position": position.pk if position else None},
        reason=reason,
    )
    want_work(tank.showroom, "due_tasks", at=at)
    return tank


def _give_code(tank: Tank, code: str, at: datetime) -> TankCode:
    called = TankCode.objects.of(tank.showroom).filter(code__iexact=code.strip(), voided_at=None)
    if called.still().exists():
        words = _("Another tank has this code: choose another.")
        raise Refused("code_taken", words, {"code": words})
    row = TankCode(showroom=tank.showroom, tank=tank, code=code.strip(), from_at=at)
    write_new(row)
    return row


def _place(tank: Tank, position: Position, at: datetime) -> Placement:
    if position.showroom_id != tank.showroom_id:
        raise Unknown("place")
    row = Placement(showroom=tank.showroom, tank=tank, position=position, from_at=at)
    write_new(row)
    return row


def _locked(tank: Tank) -> Tank:
    return Tank.objects.select_for_update().get(pk=tank.pk)


def _sizes(tank: Tank) -> dict[str, int]:
    return {key: getattr(tank, key) for key in ("length_mm", "width_mm", "height_mm", "glass_mm")}
