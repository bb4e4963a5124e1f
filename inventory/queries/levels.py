"""How much is in each container now, and how old is the last measurement?

A balance is the sum of movements. Gas has no tick: its level is the balance at the last weighing
less what the plan has asked for since, a conclusion that the next weighing replaces by what was
used.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Sum

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import day_bounds
from inventory.models import Container, Movement
from inventory.queries.stock_facts import Feed, StockFacts, is_gas, stock_facts


@dataclass(frozen=True, slots=True)
class Level:
    """Content of one container now, in base units of its item; may be negative: then count it."""

    container: Container
    base: int
    ledger_base: int
    """Sum of its movements; the same as ``base`` but for gas."""
    measured_at: datetime | None
    measured_base: int | None

    @property
    def usable_base(self) -> int:
        """Without what stays in the container."""
        return self.base - unusable_of(self.container)

    @property
    def is_below_nothing(self) -> bool:
        """More was given than was in it: an estimate error, to be counted."""
        return self.base < 0


def balance_base(container: Container, moment: datetime | None = None) -> int:
    """What the ledger held of a container at a moment, or holds in all [base units]."""
    rows = Movement.objects.filter(container=container)
    if moment is not None:
        rows = rows.filter(done_at_corrected__lte=moment)
    return int(rows.aggregate(total=Sum("amount_base"))["total"] or 0)


def levels(
    showroom: Showroom, at: datetime, *, item_ids: Collection[int] | None = None
) -> dict[int, Level]:
    """Level of every container that is not finished, by its key. Constant queries."""
    return levels_of(stock_facts(showroom, at, item_ids=item_ids))


def levels_of(facts: StockFacts) -> dict[int, Level]:
    """The same from facts already read."""
    return {pk: _level(facts, container) for pk, container in facts.containers.items()}


def unusable_of(container: Container) -> int:
    """What stays in a container [base units]: its own figure, its item's, or 5 % of a gas filling.

    Gas is exchanged at 5 % left: common practice, no source.
    """
    if container.unusable_base:
        return int(container.unusable_base)
    if container.item.unusable_base:
        return int(container.item.unusable_base)
    return int(container.capacity_base) // 20 if is_gas(container) else 0


def planned_between(
    facts: StockFacts, feeds: Collection[Feed], start: datetime, end: datetime
) -> float:
    """What the plan asks of a container's tanks between two moments, spread over each day."""
    first, last = facts.day_of(start), facts.day_of(end)
    total = 0.0
    for n in range((last - first).days + 1):
        day = first + timedelta(days=n)
        inside = _part_of(facts, day, start, end) if day in {first, last} else 1.0
        if inside > 0:
            total += inside * planned_on(facts, feeds, day)
    return total


def _part_of(facts: StockFacts, day: date, start: datetime, end: datetime) -> float:
    """Which part of a business day lies between two moments."""
    opens, closes = day_bounds(day, facts.showroom.tz, facts.showroom.cut_off_hour)
    return (min(end, closes) - max(start, opens)) / (closes - opens)


def planned_on(facts: StockFacts, feeds: Collection[Feed], day: date) -> float:
    """What the plan asks of a container's tanks on one day [base units]."""
    return sum(
        line.on(day) * feed.share_permille / 1000
        for feed in feeds
        if feed.holds(day)
        for line in facts.plans.get((feed.tank_id, feed.item_id, feed.purpose), ())
    )


def base_at(facts: StockFacts, container: Container, moment: datetime) -> int:
    """Content at a moment of today by the ledger, for gas by the plan since the last weighing.

    Movements of today all count; only the plan of a gas line stops at ``moment``.
    """
    ledger = facts.balances.get(container.pk, 0)
    feeds = facts.feeds.get(container.pk, [])
    if not is_gas(container) or not feeds:
        return ledger
    weighings = facts.weighed.get(container.pk, [])
    connected, _ = day_bounds(
        min(feed.start for feed in feeds), facts.showroom.tz, facts.showroom.cut_off_hour
    )
    since = weighings[-1].at if weighings else connected
    return ledger - round(planned_between(facts, feeds, since, moment))


def _level(facts: StockFacts, container: Container) -> Level:
    weighings = facts.weighed.get(container.pk, [])
    last = weighings[-1] if weighings else None
    return Level(
        container=container,
        base=base_at(facts, container, facts.at),
        ledger_base=facts.balances.get(container.pk, 0),
        measured_at=last.at if last else None,
        measured_base=last.net if last else None,
    )
