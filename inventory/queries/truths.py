"""What really became of a stock: its use day by day, as the measurements say afterwards.

Between two measurements (weighing, count, the end of a container) the difference to what was booked
is shared out over the days between. So it is known later how much was there on a day, and how long
it would have lasted if nothing had come since.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from operator import itemgetter

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from inventory.forecast.score import ran_out_after, shared_out
from inventory.models import (
    Container,
    Movement,
    MovementKind,
    StockFinding,
    UsePlan,
    Weighing,
    WhatWasFound,
)
from inventory.queries.levels import unusable_of
from tanks.models import TankCode

USED = {MovementKind.USE, MovementKind.MEASURED_USE, MovementKind.COUNT}
THROWN = {MovementKind.WASTE, MovementKind.EXPIRY, MovementKind.RETURN, MovementKind.SALE}
LATELY_DAYS = 7
ROUNDING = 0.001
"""What is left within this share of a full container is nothing."""
_Move = tuple[datetime, str, int, bool]
"""When, why, how much [base units], and whether it was measured."""
SPILLED_SHARE = 0.03
"""A loss of more of a full container than this explains the end by itself (own choice)."""


@dataclass(slots=True)
class Life:
    """One container: real use by day, what else came and went, and until when that is measured.

    Amounts in base units, positive; ``measured_on`` is the last day until which use is known.
    """

    container: Container
    first: date
    used: dict[date, float] = field(default_factory=lambda: defaultdict(float))
    moved: list[tuple[date, datetime, float]] = field(default_factory=list)
    thrown: dict[date, float] = field(default_factory=lambda: defaultdict(float))
    measured_on: date | None = None

    def content(self, day: date, made_at: datetime) -> float:
        """What was there at the end of a day, but for what came after a moment."""
        came = sum(amount for on, at, amount in self.moved if on <= day and at <= made_at)
        went = sum(amount for on, amount in self.used.items() if on <= day)
        return came - went

    def was_used(self, after: date, until: date) -> bool:
        """Was any of it used within these days?"""
        return any(after < on <= until and amount > 0 for on, amount in self.used.items())


@dataclass(frozen=True, slots=True)
class Truth:
    """How a projection ended. ``days`` from its ``as_of``; ``why_not`` where it cannot be told."""

    days: float | None
    known_until: date | None
    why_not: str = ""


def lives(showroom: Showroom, item_ids: Collection[int]) -> dict[int, Life]:
    """Every container of these items with what became of it; three queries."""
    rows = Container.objects.of(showroom).filter(item_id__in=item_ids, voided_at=None)
    containers = {row.pk: row for row in rows.select_related("item")}
    moves: dict[int, list[_Move]] = defaultdict(list)
    seen: set[int] = set()
    for container_id, at, kind, amount, weighing_id in (
        Movement.objects.of(showroom)
        .standing()
        .filter(container_id__in=list(containers))
        .order_by("done_at_corrected", "pk")
        .values_list("container_id", "done_at_corrected", "kind", "amount_base", "weighing_id")
    ):
        measured = kind == MovementKind.COUNT or weighing_id is not None
        moves[container_id].append((at, kind, amount, measured))
        seen.add(weighing_id or 0)
    # a weighing that found just what was booked moved nothing, but it measured
    for pk, container_id, at in (
        Weighing.objects.of(showroom)
        .standing()
        .filter(container_id__in=list(containers))
        .values_list("pk", "container_id", "done_at_corrected")
    ):
        if pk not in seen:
            moves[container_id].append((at, MovementKind.COUNT, 0, True))

    def day_of(at: datetime) -> date:
        return business_day(at, showroom.tz, showroom.cut_off_hour)

    return {
        pk: _life(containers[pk], sorted(found, key=itemgetter(0)), day_of)
        for pk, found in moves.items()
    }


def _life(container: Container, moves: list[_Move], day_of: Callable[[datetime], date]) -> Life:
    life = Life(container, day_of(moves[0][0]))
    booked: dict[date, float] = defaultdict(float)
    since = life.first
    for at, kind, amount, measured in moves:
        day = day_of(at)
        if measured and day < since:
            life.used[day] -= amount
        elif measured:
            days = _span(since, day)
            real = shared_out(-amount, [booked[on] for on in days])
            for on, used in zip(days, real, strict=True):
                life.used[on] = used
            life.measured_on, since = day, day + timedelta(days=1)
        elif kind in USED:
            booked[day] -= amount
            life.used[day] = life.used[day] - amount if day < since else booked[day]
        else:
            life.moved.append((day, at, amount))
            if kind in THROWN:
                life.thrown[day] -= amount
    if container.finished_on is not None:
        life.measured_on = container.finished_on
    return life


def _span(first: date, last: date) -> list[date]:
    """The days from first to last, both included."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def truth_of(stock: Collection[Life], as_of: date, made_at: datetime) -> Truth:
    """How long a stock of these containers lasted from the end of a day on.

    What came after ``made_at`` is left out, as a projection leaves it out.
    """
    there = [life for life in stock if life.first <= as_of]
    usable = 0.0
    for life in there:
        gone = life.container.finished_on
        if gone is None or gone > as_of:
            usable += max(0.0, life.content(as_of, made_at) - unusable_of(life.container))
    until = _known_until(list(stock), as_of)
    if until is None or until <= as_of:
        return Truth(None, None)
    days = [as_of + timedelta(days=n + 1) for n in range((until - as_of).days)]
    used = [sum(life.used.get(day, 0.0) for life in stock) for day in days]
    found = ran_out_after(usable, used)
    full = max((life.container.capacity_base for life in there), default=0)
    left = usable - sum(used)
    if found is None and (left <= ROUNDING * full or _ended(there, until, left, full)):
        found = _as_it_went_on(used, left)
    last = as_of + timedelta(days=int(found)) if found is not None else until
    why = _beside_use(stock, as_of, last, full)
    if why:
        return Truth(None, until, why)
    if found is None and all(_is_over(life, until) for life in there):
        return Truth(None, until, "changed_early")
    return Truth(found, until)


def _ended(there: list[Life], until: date, left: float, full: float) -> bool:
    """Is all of it over with so little left that the end is as good as seen?"""
    return all(_is_over(life, until) for life in there) and left <= SPILLED_SHARE * full


def _as_it_went_on(used: list[float], left: float) -> float:
    """Days until the rest would have been used up at the use of the last days."""
    days = max((n for n, amount in enumerate(used, 1) if amount > 0), default=0)
    lately = used[max(0, days - LATELY_DAYS) : days]
    rate = sum(lately) / len(lately) if lately else 0.0
    return days + (max(0.0, left) / rate if rate > 0 else 0.0)


def _beside_use(stock: Collection[Life], as_of: date, last: date, full: float) -> str:
    """Why what left it beside use explains the end; empty when it does not."""
    for life in stock:
        gone = sum(amount for on, amount in life.thrown.items() if as_of < on <= last)
        over = life.container.finished_on
        ended = over is not None and over <= last
        if gone - (unusable_of(life.container) if ended else 0) > SPILLED_SHARE * full:
            return "thrown_away" if ended else "spilled"
    return ""


def _is_over(life: Life, until: date) -> bool:
    finished = life.container.finished_on
    return finished is not None and finished <= until


def _known_until(stock: list[Life], as_of: date) -> date | None:
    """The last day until which the use of all of it is measured.

    A container that was never used since does not hold it up.
    """
    days = [
        life.measured_on
        for life in stock
        if life.measured_on is not None
        and (life.was_used(as_of, date.max) or life.measured_on > as_of)
        and not (_is_over(life, as_of))
    ]
    unmeasured = [
        life for life in stock if life.measured_on is None and life.was_used(as_of, date.max)
    ]
    open_ones = [
        life.measured_on
        for life in stock
        if life.measured_on is not None
        and life.container.finished_on is None
        and life.was_used(as_of, date.max)
    ]
    if unmeasured or not days:
        return None
    return min(open_ones) if open_ones else max(days)


def spilled_days(showroom: Showroom, item_ids: Collection[int]) -> dict[int, list[date]]:
    """Days on which somebody said that a container was spilled; one query."""
    out: dict[int, list[date]] = defaultdict(list)
    rows = StockFinding.objects.of(showroom).standing()
    rows = rows.filter(container__item_id__in=item_ids, what=WhatWasFound.SPILLED)
    for container_id, day in rows.values_list("container_id", "from_on"):
        out[container_id].append(day)
    return out


def emptied(showroom: Showroom, item_ids: Collection[int]) -> dict[int, list[tuple[str, date]]]:
    """Tanks whose plan of an item ended with none after it: item id -> (code of the tank, first day
    without); two queries."""
    ends: dict[tuple[int, int, str], list[tuple[date, date | None]]] = defaultdict(list)
    rows = UsePlan.objects.of(showroom).filter(item_id__in=item_ids, voided_at=None)
    for tank_id, item_id, purpose, start, end in rows.values_list(
        "tank_id", "item_id", "purpose", "from_on", "to_on"
    ):
        ends[tank_id, item_id, purpose].append((start, end))
    codes: dict[int, set[str]] = defaultdict(set)
    for tank_id, code in TankCode.objects.of(showroom).values_list("tank_id", "code"):
        codes[tank_id].add(code)
    out: dict[int, list[tuple[str, date]]] = defaultdict(list)
    for (tank_id, item_id, _), spans in ends.items():
        starts = {start for start, _ in spans}
        over = [end for _, end in spans if end and end not in starts]
        out[item_id] += [(code, end) for code in sorted(codes[tank_id]) for end in over]
    return out
