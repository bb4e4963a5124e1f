"""Rounds: made for a day, begun by a person, closed with what was left open."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime

from django.db import transaction

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.values.codes import new_code
from maintenance.models import Round, RoundKind, Stop
from tanks.queries.tanks import TankNow, fleet


@transaction.atomic
def ensure_rounds(
    *,
    showroom: Showroom,
    on: date,
    at: datetime,
    kinds: Iterable[str] = (RoundKind.OPENING, RoundKind.MIDDAY, RoundKind.CLOSING),
) -> list[Round]:
    """The rounds of a business day with their stops, one a zone; may run twice.

    A round that nobody has begun gets the stops of the tanks as they stand now; one that was begun
    keeps what it had.
    """
    placed = [row for row in fleet(showroom, at) if row.position is not None]
    zones = {row.position.zone_id: row.position.zone for row in placed if row.position}
    rounds: list[Round] = []
    for zone in sorted(zones.values(), key=lambda zone: zone.walking_order):
        mine = [row for row in placed if row.position and row.position.zone_id == zone.pk]
        for kind in kinds:
            round_, _made = Round.objects.get_or_create(
                showroom=showroom,
                business_on=on,
                kind=kind,
                zone=zone,
                defaults={"code": _free_code(showroom)},
            )
            if round_.opened_at is None:
                _lay_stops(round_, mine)
            rounds.append(round_)
    return rounds


@transaction.atomic
def begin_round(*, round_: Round, by: Membership, at: datetime) -> Round:
    """Somebody has begun to walk it; the first who did stays its person."""
    require(by, "record", in_=round_.showroom)
    Round.objects.filter(pk=round_.pk, opened_at=None).update(opened_at=at, person=by.person)
    round_.refresh_from_db()
    return round_


@transaction.atomic
def close_round(
    *, round_: Round, by: Membership, at: datetime, left_open: Mapping[int, str] | None = None
) -> Round:
    """It is over; ``left_open`` gives a reason per stop (primary key) that was not finished."""
    require(by, "record", in_=round_.showroom)
    for stop_pk, reason in (left_open or {}).items():
        Stop.objects.filter(pk=stop_pk, round=round_).update(left_open_reason=reason[:500])
    Round.objects.filter(pk=round_.pk, opened_at=None).update(opened_at=at, person=by.person)
    Round.objects.filter(pk=round_.pk, closed_at=None).update(closed_at=at)
    round_.refresh_from_db()
    return round_


def _lay_stops(round_: Round, rows: list[TankNow]) -> None:
    have = {stop.position_id: stop for stop in round_.stops.all()}
    wanted = {row.position.pk: (order, row) for order, row in enumerate(rows, 1) if row.position}
    for position_id, stop in have.items():
        if position_id not in wanted:
            stop.delete()
    Stop.objects.bulk_create(
        Stop(
            showroom=round_.showroom,
            round=round_,
            position_id=position_id,
            tank=row.tank,
            order=order,
        )
        for position_id, (order, row) in wanted.items()
        if position_id not in have
    )
    for position_id, stop in have.items():
        if position_id not in wanted:
            continue
        order, row = wanted[position_id]
        if stop.tank_id != row.tank.pk or stop.order != order:
            stop.tank, stop.order = row.tank, order
            stop.save(update_fields=["tank", "order"])


def _free_code(showroom: Showroom) -> str:
    code = new_code()
    while Round.objects.filter(showroom=showroom, code=code).exists():
        code = new_code()
    return code
