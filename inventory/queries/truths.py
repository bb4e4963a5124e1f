"""What really became of a stock: its use day by day, as the measurements say afterwards.

Between two measurements (weighing, count, the end of a container) the difference to what was booked
is shared out over the days between. So it is known later how much was there on a day, and how long
it would have lasted if nothing had come since.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
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

USED = {MovementKind.USE, MovementKind.MEASURED_USE, MovementKind.COUNT}
THROWN = {MovementKind.WASTE, MovementKind.EXPIRY, MovementKind.RETURN, MovementKind.SALE}
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
    moved: dict[date, float] = field(default_factory=lambda: defaultdict(float))
    thrown: dict[date, float] = field(default_factory=lambda: defaultdict(float))
    measured_on: date | None = None

    def content(self, day: date) -> float:
        """What was there at the end of a day."""
        came = sum(amount for on, amount in self.moved.items() if on <= day)
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
        pk: _life(
            containers[pk], [(day_of(m[0]), *m[1:]) for m in sorted(found, key=itemgetter(0))]
        )
        for pk, found in moves.items()
    }


def _life(container: Container, moves: list[tuple[date, str, int, bool]]) -> Life:
    life = Life(container, moves[0][0])
    booked: dict[date, float] = defaultdict(float)
    since = life.first
    for day, kind, amount, measured in moves:
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
            life.moved[day] += amount
            if kind in THROWN:
                life.thrown[day] -= amount
    if container.finished_on is not None:
        life.measured_on = container.finished_on
    return life


def _span(first: date, last: date) -> list[date]:
    """The days from first to last, both included."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def truth_of(stock: Iterable[Life], as_of: date) -> Truth:
    """How long a stock of these containers lasted from the end of a day on, receipts left out."""
    there = [life for life in stock if life.first <= as_of]
    usable = 0.0
    for life in there:
        gone = life.container.finished_on
        if gone is None or gone > as_of:
            usable += max(0.0, life.content(as_of) - unusable_of(life.container))
    until = _known_until(list(stock), as_of)
    if until is None or until <= as_of:
        return Truth(None, None)
    days = [as_of + timedelta(days=n + 1) for n in range((until - as_of).days)]
    used = [sum(life.used.get(day, 0.0) for life in stock) for day in days]
    found = ran_out_after(usable, used)
    full = max((life.container.capacity_base for life in there), default=0)
    if found is None and usable - sum(used) <= ROUNDING * full:
        found = (
            float(max(n for n, amount in enumerate(used, 1) if amount > 0)) if any(used) else 0.0
        )
    last = as_of + timedelta(days=int(found)) if found is not None else until
    thrown = sum(
        amount for life in stock for on, amount in life.thrown.items() if as_of < on <= last
    )
    if thrown > SPILLED_SHARE * full:
        ended = any(
            life.container.finished_on is not None and life.container.finished_on <= last
            for life in there
            if life.thrown
        )
        return Truth(None, until, "thrown_away" if ended else "spilled")
    if found is None and all(_is_over(life, until) for life in there):
        return Truth(None, until, "changed_early")
    return Truth(found, until)


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


def emptied(showroom: Showroom, item_ids: Collection[int]) -> dict[int, list[tuple[int, date]]]:
    """Tanks whose plan of an item ended with none after it: item id -> (tank id, first day
    without); one query."""
    ends: dict[tuple[int, int, str], list[tuple[date, date | None]]] = defaultdict(list)
    rows = UsePlan.objects.of(showroom).filter(item_id__in=item_ids, voided_at=None)
    for tank_id, item_id, purpose, start, end in rows.values_list(
        "tank_id", "item_id", "purpose", "from_on", "to_on"
    ):
        ends[tank_id, item_id, purpose].append((start, end))
    out: dict[int, list[tuple[int, date]]] = defaultdict(list)
    for (tank_id, item_id, _), spans in ends.items():
        starts = {start for start, _ in spans}
        out[item_id] += [(tank_id, end) for _, end in spans if end and end not in starts]
    return out
