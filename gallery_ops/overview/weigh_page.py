"""A container on a scale, in twenty seconds; and one after another in one sitting."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import OuterRef, Subquery

from gallery_ops.drawing import TankShape
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.codes import parse_code
from gallery_ops.kernel.values.day import business_day, day_bounds
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Mass, Quantity, quantity
from gallery_ops.overview.drawings import shapes
from inventory.models import Container, Scale, Weighing
from inventory.queries.count_plan import ToMeasure, WeekPlan, name_of, week_plan
from inventory.queries.levels import balance_base
from inventory.queries.supply import tanks_by_container
from inventory.services.weighing_rules import allowed
from maintenance.models import Observation
from tanks.queries.tanks import fleet

A_PAGE = 40
KINDS: dict[str, Callable[[ToMeasure], bool]] = {
    "": lambda _row: True,
    "gas": lambda row: row.is_gas,
    "rest": lambda row: not row.is_gas,
}
"""What a sitting may be about: everything, the cylinders, or all that is none."""


@dataclass(frozen=True, slots=True)
class ToWeigh:
    """One container with what is known of it."""

    container: Container
    name: str
    tank_codes: tuple[str, ...]
    last: Weighing | None
    regulator: Mass | None
    """Mass of the regulator, if it has one that was weighed."""
    tare: Mass | None
    base: int
    """What the books hold [base units]."""
    shape: TankShape | None = None
    title: str = ""

    @property
    def last_gross(self) -> Mass | None:
        """What the scale showed last time."""
        return Mass(self.last.gross_mg) if self.last is not None else None

    @property
    def capacity(self) -> Quantity:
        """What a full one holds."""
        return quantity(self.container.item.dimension, self.container.capacity_base)

    @property
    def level(self) -> Quantity:
        """What the books hold."""
        return quantity(self.container.item.dimension, self.base)

    @property
    def full(self) -> float:
        """Part of full by the books, 0 to 1."""
        return min(1.0, max(0.0, self.base / self.container.capacity_base))

    def scale_first(self, all_scales: Sequence[Scale], wanted: str) -> str:
        """Name of the scale to begin with: the one in hand, else the last, where it can hold this.

        The first that holds a full one with all that is on it, when neither does.
        """
        heaviest = max((r[1].mg for r in (self.range_on, self.range_off) if r), default=0)
        able = [s.name for s in all_scales if s.max_mg is None or s.max_mg >= heaviest]
        last = self.last.scale.name if self.last is not None else ""
        return next((name for name in (wanted, last, *able) if name in able), wanted)

    @property
    def range_off(self) -> tuple[Mass, Mass] | None:
        """What the scale may show without a regulator."""
        return None if self.tare is None else allowed(self.container, self.tare, Mass(0))

    @property
    def range_on(self) -> tuple[Mass, Mass] | None:
        """The same with the regulator on."""
        if self.tare is None or self.regulator is None:
            return None
        return allowed(self.container, self.tare, self.regulator)


@dataclass(frozen=True, slots=True)
class Sitting:
    """Where one stands in this week's plan, and what comes next."""

    number: int
    """Place of this container, from 1; 0 when it is not in the plan."""
    of: int
    done: int
    following: ToMeasure | None
    """The next in walking order that is not measured yet."""


@dataclass(frozen=True, slots=True)
class WeighList:
    """The plan of the week, or everything, one page of it."""

    plan: WeekPlan
    kind: str
    everything: bool
    of: int
    done: int
    page: Page
    unable: Mapping[str, str]
    """Code -> why it could not be measured today."""
    following: ToMeasure | None


def weigh_list(
    showroom: Showroom, at: datetime, *, kind: str, everything: bool, number: str
) -> WeighList:
    """This week's plan in walking order, what waits first; constant queries, at most 40 rows."""
    plan = week_plan(showroom, at)
    planned = [row for row in plan.rows if KINDS[kind](row)]
    waits_first = sorted(planned, key=lambda row: row.is_done)
    rows = [row for row in plan.all_rows if KINDS[kind](row)] if everything else waits_first
    unable = _unable(showroom, at)
    return WeighList(
        plan=plan,
        kind=kind,
        everything=everything,
        of=len(planned),
        done=sum(1 for row in planned if row.is_done),
        page=Paginator(rows, A_PAGE).get_page(number),
        unable=unable,
        following=next((r for r in planned if not r.is_done and r.code not in unable), None),
    )


def sitting(showroom: Showroom, at: datetime, code: str, kind: str) -> Sitting:
    """Number of this container in the plan, and the next that waits; others may weigh meanwhile."""
    rows = [row for row in week_plan(showroom, at).rows if KINDS[kind](row)]
    unable = _unable(showroom, at)
    here = next((n for n, row in enumerate(rows) if row.code == code), None)
    after = rows if here is None else [*rows[here + 1 :], *rows[:here]]
    waits = (row for row in after if not row.is_done and row.code not in unable)
    return Sitting(
        number=0 if here is None else here + 1,
        of=len(rows),
        done=sum(1 for row in rows if row.is_done),
        following=next(waits, None),
    )


def container_by_code(showroom: Showroom, code: str) -> Container:
    """A container that is not voided. Raises Unknown."""
    try:
        wanted = parse_code(code)
    except OutOfRange:
        wanted = code
    row: Container | None = (
        Container.objects.of(showroom)
        .filter(code=wanted, voided_at=None)
        .select_related("item", "lot", "cylinder", "showroom", "room")
        .first()
    )
    if row is None:
        raise Unknown("container")
    return row


def weighing_of(showroom: Showroom, code: str, at: datetime) -> ToWeigh:
    """One container by its code, with the tank that it feeds alone, drawn. Raises Unknown."""
    row = container_by_code(showroom, code)
    codes = tuple(tanks_by_container(showroom, at).get(row.pk, ()))
    found = _one(row, _last(showroom, [row.pk]).get(row.pk), codes)
    if len(codes) != 1:
        return found
    tanks = [tank for tank in fleet(showroom, at) if tank.code == codes[0]]
    if not tanks:
        return found
    shape = shapes(showroom, at, tanks)[codes[0]]
    return replace(found, shape=shape, title=tanks[0].title)


def scales(showroom: Showroom) -> list[Scale]:
    """The scales of the house."""
    return list(Scale.objects.of(showroom).filter(voided_at=None).order_by("pk"))


def _unable(showroom: Showroom, at: datetime) -> dict[str, str]:
    """Code -> reason, of what could not be measured today."""
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    start, end = day_bounds(today, showroom.tz, showroom.cut_off_hour)
    rows: Iterable[tuple[dict[str, Any], str]] = (
        Observation.objects.of(showroom)
        .standing()
        .filter(
            kind="unable",
            key="weigh",
            done_at_corrected__gte=start,
            done_at_corrected__lt=end,
        )
        .values_list("data", "text")
    )
    return {str(data["container"]): text for data, text in rows if data.get("container")}


def _last(showroom: Showroom, keys: list[int]) -> dict[int, Weighing]:
    """The newest standing weighing of each container, one row a container; one query."""
    newest = (
        Weighing.objects.standing()
        .filter(container=OuterRef("pk"))
        .order_by("-done_at_corrected", "-pk")
        .values("pk")[:1]
    )
    wanted = Container.objects.of(showroom).filter(pk__in=keys).values(newest=Subquery(newest))
    rows = Weighing.objects.filter(pk__in=wanted).select_related("person", "scale")
    return {row.container_id: row for row in rows}


def _one(row: Container, last: Weighing | None, tank_codes: tuple[str, ...]) -> ToWeigh:
    detail = getattr(row, "cylinder", None) if row.kind == "cylinder" else None
    return ToWeigh(
        container=row,
        name=name_of(row, tank_codes),
        tank_codes=tank_codes,
        last=last,
        regulator=Mass(detail.regulator_mg) if detail and detail.regulator_mg else None,
        tare=Mass(row.tare_mg) if row.tare_mg is not None else None,
        base=balance_base(row),
    )
