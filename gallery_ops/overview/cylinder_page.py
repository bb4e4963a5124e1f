"""Cylinders by the room in which they stand, the room with something to say first."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.queries.people import members, skills_by_person
from gallery_ops.kernel.values.codes import parse_code
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Mass
from inventory.queries.cylinder_register import CylinderRow, cylinder_register
from tanks.queries.rooms import RoomAir, room_air, rooms_air
from tanks.queries.tanks import fleet
from tanks.science.room_air import added_ppm, peak_ppm, step_of

GRAMS_PER_MG = 1_000
SAID_FIRST = ("leak", "test", "change", "weigh")


@dataclass(frozen=True, slots=True)
class OneLetsGo:
    """What the air of a room gets if one cylinder lets all of its fill go at once."""

    row: CylinderRow
    ppm: int
    now_ppm: int
    """The same from what is in it now."""
    step: int
    """0 to 2: above no limit, the first, both."""


@dataclass(frozen=True, slots=True)
class RoomView:
    """A room with its cylinders. ``number`` is None when the room has none."""

    air: RoomAir
    speaking: tuple[CylinderRow, ...]
    quiet: tuple[CylinderRow, ...]
    number: OneLetsGo | None
    carried: tuple[Mass, int] | None
    """The smallest larger fill of the house and its ppm, if it were carried through."""

    @property
    def rows(self) -> tuple[CylinderRow, ...]:
        """All of its cylinders that feed a tank."""
        return (*self.speaking, *self.quiet)

    @property
    def urgency(self) -> tuple[int, int]:
        """What comes first: a leak, a room without number, the higher step, anything to say."""
        said = {what for row in self.speaking for what in row.says}
        if "leak" in said:
            return 0, 0
        if self.number is None:
            return 1, 0
        if said:
            return 2, -self.number.step
        return 3, -self.number.step


@dataclass(frozen=True, slots=True)
class CylinderPage:
    """All of the register. ``store`` holds what feeds nothing, ``away`` what is being refilled."""

    rooms: tuple[RoomView, ...]
    nowhere: tuple[CylinderRow, ...]
    store: tuple[CylinderRow, ...]
    away: tuple[CylinderRow, ...]
    titles: dict[str, str]
    rows: tuple[CylinderRow, ...]
    airs: tuple[RoomAir, ...]

    def of(self, code: str) -> CylinderRow:
        """The one with this code. Raises Unknown."""
        try:
            wanted = parse_code(code)
        except OutOfRange:
            raise Unknown("cylinder") from None
        for row in self.rows:
            if row.container.code == wanted:
                return row
        raise Unknown("cylinder")

    @property
    def at_tanks(self) -> int:
        """How many feed a tank."""
        return sum(1 for row in self.rows if row.fed)

    @property
    def spares(self) -> tuple[CylinderRow, ...]:
        """Full ones that wait."""
        return tuple(row for row in self.store if row.is_spare)

    @property
    def leaking(self) -> tuple[CylinderRow, ...]:
        """Those that lose gas, by alert or by the sum that watches them."""
        return tuple(row for row in self.rows if "leak" in row.says)

    @property
    def to_test(self) -> tuple[CylinderRow, ...]:
        """Those that are not filled again before a test."""
        return tuple(row for row in self.rows if row.test in {"ran_out", "before_next_fill"})


@dataclass(frozen=True, slots=True)
class RoomGas:
    """The page of one room: every cylinder in it by its fill, the largest sum first."""

    air: RoomAir
    each: tuple[tuple[OneLetsGo, ...], ...]
    """Cylinders of one fill together: if one of them lets go, the air gets the same."""
    standing: tuple[CylinderRow, ...]
    displaced_ppm: int | None
    """The largest, when mixed air leaves while the gas comes in."""


def cylinder_page(showroom: Showroom, at: datetime) -> CylinderPage:
    """The register by room; the number of queries does not grow with the fleet."""
    rows = cylinder_register(showroom, at)
    airs = rooms_air(showroom)
    known = {air.room.pk for air in airs}
    in_room: dict[int, list[CylinderRow]] = defaultdict(list)
    for row in rows:
        if row.fed and row.room_id in known:
            in_room[row.room_id].append(row)
    fills = sorted({row.fill.mg for row in rows})
    views = [_view(air, in_room[air.room.pk], rows, fills) for air in airs if in_room[air.room.pk]]
    views.sort(key=lambda view: view.urgency)
    return CylinderPage(
        rooms=tuple(views),
        nowhere=tuple(row for row in rows if row.fed and row.room_id not in known),
        store=tuple(row for row in rows if row.is_in_store),
        away=tuple(row for row in rows if row.is_away),
        titles={now.code: now.title for now in fleet(showroom, at)},
        rows=tuple(rows),
        airs=tuple(airs),
    )


def room_gas(showroom: Showroom, uid: UUID, at: datetime) -> RoomGas:
    """One room and what each of its cylinders would do to its air. Raises Unknown."""
    air = room_air(showroom, uid)
    standing = [
        row
        for row in cylinder_register(showroom, at)
        if row.room_id == air.room.pk and not row.is_away
    ]
    of_fill: dict[int, list[OneLetsGo]] = defaultdict(list)
    for row in standing if air.has_number else []:
        of_fill[row.fill.mg].append(_lets_go(air, row))
    each = [tuple(of_fill[fill]) for fill in sorted(of_fill, reverse=True)]
    displaced = None
    if each:
        largest = each[0][0].row.fill.mg / GRAMS_PER_MG
        displaced = round(peak_ppm(largest, air.room.volume_m3 or 1))
    return RoomGas(air, tuple(each), tuple(standing), displaced)


def who_may_change(showroom: Showroom, at: datetime) -> list[Membership]:
    """People who are signed off for gas (C3) today; two queries."""
    on = business_day(at, showroom.tz, showroom.cut_off_hour)
    skills = skills_by_person(showroom, on)
    return [row for row in members(showroom, at) if "C3" in skills.get(row.person_id, ())]


def _view(
    air: RoomAir, mine: list[CylinderRow], rows: list[CylinderRow], fills: list[int]
) -> RoomView:
    order = {what: n for n, what in enumerate(SAID_FIRST)}
    speaking = sorted(
        (row for row in mine if row.says), key=lambda row: (order[row.says[0]], row.codes)
    )
    here = [row for row in rows if row.room_id == air.room.pk and not row.is_away]
    number, carried = None, None
    if air.has_number:
        number = max((_lets_go(air, row) for row in here), key=lambda one: one.ppm)
        larger = next((fill for fill in fills if fill > number.row.fill.mg), None)
        if larger is not None:
            ppm = round(added_ppm(larger / GRAMS_PER_MG, air.room.volume_m3 or 1))
            carried = (Mass(larger), ppm) if step_of(ppm) > number.step else None
    quiet = tuple(row for row in mine if not row.says)
    return RoomView(air, tuple(speaking), quiet, number, carried)


def lets_go(air: RoomAir, gas: Mass) -> tuple[int, int]:
    """What this room's air gets from so much gas at once [ppm], and the step, 0 to 2."""
    ppm = round(added_ppm(gas.mg / GRAMS_PER_MG, air.room.volume_m3 or 1))
    return ppm, step_of(ppm)


def _lets_go(air: RoomAir, row: CylinderRow) -> OneLetsGo:
    ppm, step = lets_go(air, row.fill)
    now, _ = lets_go(air, row.content)
    return OneLetsGo(row, ppm, now, step)
