"""Rounds: made for a day, begun by a person, closed with what was left open."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.values.codes import new_code
from maintenance.models import Round, RoundKind, Stop
from tanks.models import Position
from tanks.queries.tanks import fleet

IN_ROOMS = frozenset([RoundKind.CLOSING])
"""Kinds of round that look at the rooms too: their air, valves, floor and doors."""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A stop that a round should have: a tank at its place, or a room."""

    position_id: int | None = None
    tank_id: int | None = None
    room_id: int | None = None

    @property
    def key(self) -> tuple[int | None, int | None]:
        """What tells the stops of one round apart."""
        return (self.position_id, self.room_id)


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
    keeps what it had. A room that two zones pass is a stop of one of them.
    """
    placed = [(row.tank.pk, row.position) for row in fleet(showroom, at) if row.position]
    zones = {position.zone_id: position.zone for _tank, position in placed}
    rooms = _rooms_of_zones([position for _tank, position in placed])
    rounds: list[Round] = []
    for zone in sorted(zones.values(), key=lambda zone: zone.walking_order):
        mine = [(tank, position) for tank, position in placed if position.zone_id == zone.pk]
        for kind in kinds:
            round_, _made = Round.objects.get_or_create(
                showroom=showroom,
                business_on=on,
                kind=kind,
                zone=zone,
                defaults={"code": _free_code(showroom)},
            )
            if round_.opened_at is None:
                _lay_stops(round_, _wanted(mine, rooms[zone.pk] if kind in IN_ROOMS else set()))
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


def _rooms_of_zones(places: list[Position]) -> dict[int, set[int]]:
    """Zone -> rooms whose air it reads: those in which it has most places, at a tie the later."""
    found: dict[int, set[int]] = defaultdict(set)
    for room_id in {place.room_id for place in places}:
        counts = Counter(place.zone_id for place in places if place.room_id == room_id)
        order = {place.zone_id: place.zone.walking_order for place in places}
        zone_id = max(counts, key=lambda zone_id: (counts[zone_id], order[zone_id], zone_id))
        found[zone_id].add(room_id)
    return found


def _wanted(placed: list[tuple[int, Position]], rooms: set[int]) -> list[_Wanted]:
    """The stops in walking order, each room after the last of its tanks: the look from its door."""
    last = {position.room_id: n for n, (_tank, position) in enumerate(placed)}
    found = []
    for n, (tank_id, position) in enumerate(placed):
        found.append(_Wanted(position_id=position.pk, tank_id=tank_id))
        if position.room_id in rooms and last[position.room_id] == n:
            found.append(_Wanted(room_id=position.room_id))
    return found


def _lay_stops(round_: Round, rows: list[_Wanted]) -> None:
    have = {(stop.position_id, stop.room_id): stop for stop in round_.stops.all()}
    wanted = {row.key: (order, row) for order, row in enumerate(rows, 1)}
    for key, stop in have.items():
        if key not in wanted:
            stop.delete()
    Stop.objects.bulk_create(
        Stop(
            showroom=round_.showroom,
            round=round_,
            position_id=row.position_id,
            room_id=row.room_id,
            tank_id=row.tank_id,
            order=order,
        )
        for key, (order, row) in wanted.items()
        if key not in have
    )
    for key, stop in have.items():
        if key not in wanted:
            continue
        order, row = wanted[key]
        if stop.tank_id != row.tank_id or stop.order != order:
            stop.tank_id, stop.order = row.tank_id, order
            stop.save(update_fields=["tank", "order"])


def _free_code(showroom: Showroom) -> str:
    code = new_code()
    while Round.objects.filter(showroom=showroom, code=code).exists():
        code = new_code()
    return code
