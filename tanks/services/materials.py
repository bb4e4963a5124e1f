"""What a build needs, written line by line; what it came to on building day."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.checking import check_row
from tanks.models import Layout, MaterialLine, MaterialPart

FIELDS = (
    "part",
    "what",
    "species",
    "item_code",
    "share_percent",
    "rate",
    "per_pack",
    "front_mm",
    "back_mm",
    "said_count",
    "unit_cents",
    "secured",
    "secured_on",
    "secured_words",
    "substitute_for",
)
SHARED = (MaterialPart.CARPET, MaterialPart.MIDDLE, MaterialPart.STEMS, MaterialPart.MOSS)
"""Parts that are worked out from a share of the ground."""


@transaction.atomic
def add_material(*, layout: Layout, by: Membership, at: datetime, **fields: Any) -> MaterialLine:
    """One more thing that the build needs.

    Raises
    ------
    Refused
        what the row may not hold, shares of more than the whole ground, ground without a depth.
    """
    require(by, "plan.change", in_=layout.showroom)
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    _open(layout)
    last = layout.material_lines.aggregate(last=Max("order"))["last"] or 0
    row = MaterialLine(showroom=layout.showroom, layout=layout, order=last + 1, **_known(fields))
    _check(row)
    row.save(force_insert=True)
    audit.record(by=by, at=at, deed="material.added", subject=row, after={"what": row.what})
    return row


@transaction.atomic
def change_material(
    *, line: MaterialLine, by: Membership, at: datetime, **changes: Any
) -> MaterialLine:
    """Another amount, price or source; only what is named changes."""
    require(by, "plan.change", in_=line.showroom)
    row = _locked(line)
    before = {name: str(getattr(row, name)) for name in _known(changes)}
    for name, value in changes.items():
        setattr(row, name, value)
    _check(row)
    row.save(update_fields=list(changes))
    _said(by, at, "material.changed", row, before, {k: str(v) for k, v in changes.items()})
    return row


@transaction.atomic
def drop_material(*, line: MaterialLine, by: Membership, at: datetime) -> MaterialLine:
    """It is not needed after all; what is kept of it in the store must be freed first."""
    require(by, "plan.change", in_=line.showroom)
    row = _locked(line)
    if row.reservation is not None:
        raise Refused(
            "still_kept",
            f"{row.what} is still kept in the store.",
            {"line": "Free it first."},
            "Free it, then take the line away.",
        )
    row.voided_at = at
    row.save(update_fields=["voided_at"])
    _said(by, at, "material.dropped", row, {"what": row.what}, {})
    return row


@transaction.atomic
def keep_reservation(
    *, line: MaterialLine, reservation: UUID | None, by: Membership, at: datetime
) -> MaterialLine:
    """Which reservation of the store stands for this line; None when it was freed."""
    require(by, "plan.change", in_=line.showroom)
    row = _locked(line)
    if reservation is not None and row.reservation is not None:
        raise Refused("reserved_already", f"{row.what} is reserved already.")
    before, row.reservation = row.reservation, reservation
    row.save(update_fields=["reservation"])
    _said(by, at, "material.reserved", row, {"as": str(before)}, {"as": str(reservation)})
    return row


@transaction.atomic
def agree_substitute(
    *, line: MaterialLine, agreed_on: date, by: Membership, at: datetime
) -> MaterialLine:
    """The designer has said yes to what comes instead."""
    require(by, "plan.change", in_=line.showroom)
    row = _locked(line)
    if not row.substitute_for:
        raise Refused("no_substitute", f"{row.what} stands for nothing else.")
    row.agreed_on = agreed_on
    row.save(update_fields=["agreed_on"])
    _said(by, at, "material.agreed", row, {}, {"on": agreed_on})
    return row


@transaction.atomic
def count_materials(
    *,
    layout: Layout,
    counted: dict[UUID, tuple[int | None, int | None]],
    by: Membership,
    at: datetime,
) -> list[MaterialLine]:
    """What went in on building day and what it cost: line -> (count, cents); None is not known."""
    require(by, "plan.change", in_=layout.showroom)
    rows = list(
        layout.material_lines.select_for_update().filter(voided_at=None, uid__in=list(counted))
    )
    for row in rows:
        row.actual_count, row.actual_cents = counted[row.uid]
        check_row(row)
        row.save(update_fields=["actual_count", "actual_cents"])
    audit.record(
        by=by,
        at=at,
        deed="material.counted",
        subject=layout,
        after={str(row.uid): [row.actual_count, row.actual_cents] for row in rows},
    )
    return rows


def _known(fields: dict[str, Any]) -> dict[str, Any]:
    strange = set(fields) - set(FIELDS)
    if strange:
        raise Refused("unknown_field", f"A material has no {', '.join(sorted(strange))}.")
    return fields


def _locked(line: MaterialLine) -> MaterialLine:
    Layout.objects.select_for_update().get(pk=line.layout_id)
    row: MaterialLine = MaterialLine.objects.select_for_update().get(pk=line.pk)
    if row.voided_at is not None:
        raise Refused("line_gone", f"{row.what} was taken off the list.")
    return row


def _open(layout: Layout) -> None:
    if layout.to_at is not None:
        raise Refused("layout_closed", "This layout is closed: nothing more is built in it.")


def _check(row: MaterialLine) -> None:
    check_row(row)
    if row.part in SHARED and not row.share_percent and row.said_count is None:
        raise Refused(
            "no_share",
            f"{row.what}: how much of the ground does it cover?",
            {"share_percent": "1 to 100 %, or a number of your own."},
        )
    if row.part == MaterialPart.GROUND and (row.front_mm is None or row.back_mm is None):
        raise Refused(
            "no_depth",
            f"{row.what}: how deep is it in front and behind?",
            {"front": "Both depths in cm, such as 3 and 8."},
        )
    on_ground = [part for part in SHARED if part != MaterialPart.MOSS]
    if row.part in on_ground and row.share_percent:
        others = MaterialLine.objects.filter(
            layout_id=row.layout_id, voided_at=None, part__in=on_ground
        ).exclude(pk=row.pk)
        taken = sum(share or 0 for share in others.values_list("share_percent", flat=True))
        if taken + row.share_percent > 100:
            raise Refused(
                "more_than_all",
                f"{row.what}: {row.share_percent} % is not allowed, {taken} % are planted already.",
                {"share_percent": f"Allowed: up to {100 - taken} %."},
                "Make this share or another smaller.",
            )


def _said(
    by: Membership,
    at: datetime,
    deed: str,
    row: MaterialLine,
    before: dict[str, Any],
    after: dict[str, Any],
) -> None:
    audit.record(by=by, at=at, deed=deed, subject=row, before=before, after=after)
