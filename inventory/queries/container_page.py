"""Everything that was seen and done with one container, and the sum that its level is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Count, Sum

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.quantity import Mass, Quantity, Volume, quantity
from inventory.models import Container, Movement, PressCalibration, Supply, Weighing
from inventory.queries.movements import Entries, entries_of
from inventory.queries.stock_item import ContainerRow, codes_of, container_by_code, container_rows
from inventory.queries.stock_page import StockRow, line_of_container
from tanks.models import Room

WEIGHINGS_SHOWN = 20
PERIODS_SHOWN = 20


@dataclass(frozen=True, slots=True)
class WeighedRow:
    """A weighing beside what the ledger expected at that moment."""

    weighing: Weighing
    gross: Mass
    found: Quantity
    expected: Quantity
    off: Quantity
    """Found less expected."""
    off_part: float | None
    """The same as a part of what was expected; None when nothing was."""
    per_day: Quantity | None
    """What went a day since the weighing before; None for the first and for one taken back."""
    stands: bool
    """Not taken back and not corrected."""


@dataclass(frozen=True, slots=True)
class PressedRow:
    """A press calibration and how far it is from what the instruction says."""

    calibration: PressCalibration
    per_press: Volume
    off_part: float | None


@dataclass(frozen=True, slots=True)
class PeriodRow:
    """What it fed, from when until when; ``to_at`` None: still."""

    name: str
    from_at: datetime
    to_at: datetime | None
    share_permille: int | None


@dataclass(frozen=True, slots=True)
class ContainerPage:
    """One container, whole. ``line`` only for a cylinder in use, which has a projection."""

    row: ContainerRow
    line: StockRow | None
    balance: Quantity
    """Sum of all its movements."""
    movements: int
    today: date
    weighings: list[WeighedRow]
    calibrations: list[PressedRow]
    periods: list[PeriodRow]
    entries: Entries
    others: list[Container]
    """Containers of the same item that something can be poured into."""
    rooms: list[Room]

    @property
    def container(self) -> Container:
        """The container itself."""
        return self.row.container


def container_page(
    showroom: Showroom, code: str, at: datetime, *, entries: int | str = 1
) -> ContainerPage:
    """Raises Unknown for a code that no container of this showroom has."""
    one = container_by_code(showroom, code)
    mine = Movement.objects.of(showroom).filter(container=one)
    told = mine.order_by().aggregate(total=Sum("amount_base"), n=Count("pk"))
    (row,) = container_rows(one.item, [one], at)
    return ContainerPage(
        row=row,
        line=line_of_container(showroom, one, at),
        balance=quantity(one.item.dimension, told["total"] or 0),
        movements=told["n"],
        today=business_day(at, showroom.tz, showroom.cut_off_hour),
        weighings=_weighings(one),
        calibrations=_calibrations(one),
        periods=_periods(one, at),
        entries=entries_of(mine, entries),
        others=_others(one),
        rooms=list(Room.objects.of(showroom).order_by("walking_order", "name")),
    )


def _weighings(one: Container) -> list[WeighedRow]:
    rows = list(
        Weighing.objects.filter(container=one, takes_back=False)
        .select_related("scale", "person", "corrected_by")
        .order_by("-done_at_corrected", "-pk")[: WEIGHINGS_SHOWN + 1]
    )
    older: Weighing | None = None
    out: list[WeighedRow] = []
    for row in reversed(rows):
        out.append(_weighed(one, row, older))
        if out[-1].stands:
            older = row
    return out[::-1][:WEIGHINGS_SHOWN]


def _weighed(one: Container, row: Weighing, older: Weighing | None) -> WeighedRow:
    dimension = one.item.dimension
    off = row.net_base - row.expected_base
    stands = getattr(row, "corrected_by", None) is None
    return WeighedRow(
        weighing=row,
        gross=Mass(row.gross_mg),
        found=quantity(dimension, row.net_base),
        expected=quantity(dimension, row.expected_base),
        off=quantity(dimension, off),
        off_part=off / row.expected_base if row.expected_base > 0 else None,
        per_day=_per_day(one, row, older, -off) if stands else None,
        stands=stands,
    )


def _per_day(one: Container, row: Weighing, older: Weighing | None, went: int) -> Quantity | None:
    if older is None:
        return None
    days = (row.done_at_corrected - older.done_at_corrected) / timedelta(days=1)
    return quantity(one.item.dimension, round(went / days)) if days > 0 else None


def _calibrations(one: Container) -> list[PressedRow]:
    rows = (
        PressCalibration.objects.standing()
        .filter(container=one)
        .select_related("person")
        .order_by("-done_at_corrected", "-pk")[:WEIGHINGS_SHOWN]
    )
    said = one.press_nominal_ul
    return [
        PressedRow(
            row, Volume(row.ul_per_press), (row.ul_per_press - said) / said if said else None
        )
        for row in rows
    ]


def _periods(one: Container, at: datetime) -> list[PeriodRow]:
    rows = list(
        Supply.objects.filter(container=one)
        .select_related("zone")
        .order_by("-from_at", "-pk")[:PERIODS_SHOWN]
    )
    named = codes_of({row.tank_id for row in rows if row.tank_id}, at)
    return [
        PeriodRow(
            name=named.get(row.tank_id, "") if row.tank_id else f"zone {row.zone.code}",
            from_at=row.from_at,
            to_at=row.to_at,
            share_permille=row.share_permille,
        )
        for row in rows
    ]


def _others(one: Container) -> list[Container]:
    """At most fifty, those with the oldest opening first."""
    rows = Container.objects.filter(item=one.item, finished_on=None, voided_at=None)
    rows = rows.exclude(pk=one.pk).exclude(kind="cylinder").select_related("item")
    return list(rows.order_by("name", "code")[:50])
