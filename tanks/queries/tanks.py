"""How is every tank: what stands where, planted how, since when? In constant many queries."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import Q

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day, local
from tanks.models import Layout, Placement, Position, Tank, TankCode
from tanks.science.geometry import Volumes, volumes


@dataclass(frozen=True, slots=True)
class TankNow:
    """One tank at a moment: glass, place and layout together, as people say "the tank"."""

    tank: Tank
    code: str
    position: Position | None
    layout: Layout | None
    empty_since_on: date | None
    on: date
    sizes_mm: tuple[int, int, int] = field(default=(0, 0, 0))

    @property
    def title(self) -> str:
        """The title of its layout; none for a vacant tank."""
        return self.layout.title if self.layout else ""

    @property
    def stage(self) -> str:
        """The stage of its layout, or ``vacant``."""
        return self.layout.stage if self.layout else "vacant"

    @property
    def room_name(self) -> str:
        """Where it stands; empty when it stands nowhere."""
        return self.position.room.name if self.position else ""

    @property
    def zone_code(self) -> str:
        """Who walks past it; empty when it stands nowhere."""
        return self.position.zone.code if self.position else ""

    @property
    def day(self) -> int | None:
        """Day of the layout, counted from flooding as day 0."""
        if self.layout is None or self.layout.flooded_on is None:
            return None
        return (self.on - self.layout.flooded_on).days

    @property
    def empty_day(self) -> int | None:
        """Days that a vacant tank has stood empty."""
        return (self.on - self.empty_since_on).days if self.empty_since_on else None

    @property
    def volumes(self) -> Volumes:
        """Outer, inner and working volume [L]."""
        glass = self.tank
        return volumes(
            glass.length_mm, glass.width_mm, glass.height_mm, glass.glass_mm, glass.base_mm
        )


def fleet(
    showroom: Showroom, at: datetime, tank_ids: Collection[int] | None = None
) -> list[TankNow]:
    """Every tank that stood at ``at`` (or those of these keys), in walking order. 5 queries.

    Tanks without a place come last.
    """
    on = business_day(at, showroom.tz, showroom.cut_off_hour)
    mine = Q() if tank_ids is None else Q(tank_id__in=tank_ids)
    called = {
        row.tank_id: row
        for row in TankCode.objects.of(showroom).filter(mine, voided_at=None).at(at)
    }
    codes = {tank_id: row.code for tank_id, row in called.items()}
    tanks = {
        tank.pk: tank
        for tank in Tank.objects.of(showroom).filter(pk__in=list(codes), voided_at=None)
    }
    places = {
        row.tank_id: row.position
        for row in Placement.objects.of(showroom)
        .filter(mine, voided_at=None)
        .at(at)
        .select_related("position__room", "position__zone")
    }
    layouts = {
        row.tank_id: row
        for row in Layout.objects.of(showroom)
        .filter(mine, voided_at=None)
        .at(at)
        .select_related("designer")
    }
    ended: dict[int, datetime] = {}
    for tank_id, to_at in (
        Layout.objects.of(showroom)
        .filter(mine, voided_at=None, to_at__lte=at)
        .values_list("tank_id", "to_at")
    ):
        ended[tank_id] = max(to_at, ended.get(tank_id, to_at))
    rows = [
        TankNow(
            tank=tank,
            code=codes[pk],
            position=places.get(pk),
            layout=layouts.get(pk),
            empty_since_on=None
            if pk in layouts
            else _empty_since(showroom, tank, ended.get(pk), called[pk].from_at),
            on=on,
            sizes_mm=(tank.length_mm, tank.width_mm, tank.height_mm),
        )
        for pk, tank in tanks.items()
    ]
    return sorted(rows, key=_walking_order)


def tank_by_code(showroom: Showroom, code: str, at: datetime) -> TankNow:
    """The tank that has this code, or the last one that had it, in the glass that stands now.

    Raises
    ------
    Unknown
        when no tank of this showroom was ever called so.
    """
    wanted = code.strip()
    rows = TankCode.objects.of(showroom).filter(code__iexact=wanted, voided_at=None)
    row = rows.at(at).first() or rows.order_by("-from_at").first()
    if row is None:
        raise Unknown("tank")
    return tank_now(glass_after(row.tank, at), at)


def glass_after(tank: Tank, at: datetime) -> Tank:
    """The glass that stands at ``at`` in the place of this one; no query for one in service."""
    while tank.retired_at is not None and tank.retired_at <= at:
        took_over = tank.became.filter(
            voided_at=None, codes__voided_at=None, codes__from_at=tank.retired_at
        ).first()  # a glass that was a part of this one took over no code
        if took_over is None:
            break
        tank = took_over
    return tank


def leads_to(tank: Tank, at: datetime) -> Tank:
    """Where somebody finds at ``at`` what lived here: newer glass, or the tank that took it in."""
    while True:
        tank = glass_after(tank, at)
        if tank.went_into is None or tank.retired_at is None or tank.retired_at > at:
            return tank
        tank = tank.went_into


def tank_now(tank: Tank, at: datetime) -> TankNow:
    """One tank at a moment."""
    showroom = tank.showroom
    code = tank.codes.filter(voided_at=None).at(at).first()
    code = code or tank.codes.filter(voided_at=None).order_by("-from_at").first()
    place = (
        tank.placements.filter(voided_at=None)
        .at(at)
        .select_related("position__room", "position__zone")
        .first()
    )
    layouts = tank.layouts.filter(voided_at=None).select_related("designer")
    layout = layouts.at(at).first()
    last = layouts.filter(to_at__lte=at).order_by("-to_at").first()
    return TankNow(
        tank=tank,
        code=code.code if code else "",
        position=place.position if place else None,
        layout=layout,
        empty_since_on=None
        if layout
        else _empty_since(
            showroom, tank, last.to_at if last else None, code.from_at if code else at
        ),
        on=business_day(at, showroom.tz, showroom.cut_off_hour),
        sizes_mm=(tank.length_mm, tank.width_mm, tank.height_mm),
    )


def _empty_since(
    showroom: Showroom, tank: Tank, ended_at: datetime | None, known_since: datetime
) -> date | None:
    """The day its last layout was taken out, else the day it came, else the day we knew of it."""
    if ended_at is not None:
        return local(ended_at, showroom.tz).date()
    return tank.acquired_on or local(known_since, showroom.tz).date()


def _walking_order(row: TankNow) -> tuple[int, int, int, str]:
    if row.position is None:
        return (1, 0, 0, row.code)
    return (0, row.position.room.walking_order, row.position.walking_order, row.code)


def by_room(rows: list[TankNow]) -> Iterator[tuple[str, list[TankNow]]]:
    """The rows in runs of the same room, in walking order."""
    run: list[TankNow] = []
    for row in rows:
        if run and run[-1].room_name != row.room_name:
            yield run[-1].room_name, run
            run = []
        run.append(row)
    if run:
        yield run[-1].room_name, run
