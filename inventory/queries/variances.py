"""Expected against found, at each weighing and count.

What was found stays as it was measured. What was expected is what the books now say of that moment:
a use that is entered late but was done before a measurement changes the variance shown, never the
measurement. The ledger keeps that by an opposite movement at the measurement, so the variance is
the sum of what stands there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import sqrt
from typing import Any

from django.db.models import Q, Sum

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from inventory.forecast.variance_rule import Interval
from inventory.models import Container, Movement, MovementKind, StockFinding, Weighing
from inventory.queries.levels import planned_between
from inventory.queries.stock_facts import is_gas, stock_facts

WINDOW = timedelta(days=180)
READ_BY_MARK = 0.02
"""How far a level read off a mark is off, as a share of a full one (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Measured:
    """One standing measurement: what it found and by how much the books differed then."""

    at: datetime
    pk: int
    weighing_id: int | None
    noise_sd: float
    variance: int


def variance_of(weighing: Weighing) -> int:
    """Found less expected, by what is known now [base units of the item]."""
    total = Movement.objects.filter(weighing=weighing).aggregate(total=Sum("amount_base"))["total"]
    return int(total or 0)


def intervals(
    showroom: Showroom, at: datetime, *, container_ids: Collection[int] | None = None
) -> dict[int, list[Interval]]:
    """The last two intervals of every container in use that was measured twice or more.

    The receipt counts as the first measurement of a bottle. Constant queries. Intervals that a
    finding explains are left out, and pieces that no plan uses: that some went is what their
    counts are there to say.
    """
    facts = stock_facts(showroom, at)
    planned = {item_id for _tank, item_id, _purpose in facts.plans}
    wanted = {
        pk: row
        for pk, row in facts.containers.items()
        if (container_ids is None or pk in container_ids)
        and (row.item.dimension != "piece" or row.item_id in planned)
    }
    measured = _measured(wanted, at)
    uses = _uses(wanted, measured)
    explained = _explained(showroom)
    found: dict[int, list[Interval]] = {}
    for pk, rows in measured.items():
        container = wanted[pk]
        for before, now in zip(rows[-3:], rows[-3:][1:], strict=False):
            if is_gas(container):
                feeds = facts.feeds.get(pk, [])
                expected = planned_between(facts, feeds, before.at, now.at)
                variance = now.variance + expected
            else:
                expected = -sum(a for moment, a in uses[pk] if before.at < moment <= now.at)
                variance = float(now.variance)
            interval = Interval(
                _day(showroom, before.at),
                _day(showroom, now.at),
                expected,
                variance,
                sqrt(before.noise_sd**2 + now.noise_sd**2),
            )
            if not any(
                first <= interval.to_on and interval.from_on <= last
                for first, last in explained[pk]
            ):
                found.setdefault(pk, []).append(interval)
    return found


def _measured(wanted: dict[int, Container], at: datetime) -> dict[int, list[Measured]]:
    """Measurements of the window by container, oldest first; a receipt stands before them."""
    found: dict[int, list[Measured]] = defaultdict(list)
    inside: dict[str, Any] = {
        "container_id__in": list(wanted),
        "done_at_corrected__gte": at - WINDOW,
        "done_at_corrected__lte": at,
    }
    posted: dict[int, int] = defaultdict(int)
    sums = (
        Movement.objects.filter(weighing__isnull=False, **inside)
        .values("weighing_id")
        .annotate(total=Sum("amount_base"))
        .order_by()
    )
    for row in sums:
        posted[row["weighing_id"]] = int(row["total"])
    for weighing in Weighing.objects.standing().filter(**inside).select_related("scale"):
        container = wanted[weighing.container_id]
        mg = sqrt(weighing.scale.noise_sd_mg**2 + weighing.scale.resolution_mg**2 / 12)
        per_mg = 1_000 / weighing.density_mg_per_ml if container.item.dimension == "volume" else 1
        found[container.pk].append(
            Measured(
                weighing.done_at_corrected,
                weighing.pk,
                weighing.pk,
                mg * per_mg,
                posted[weighing.pk],
            )
        )
    _counts(wanted, inside, found)
    for rows in found.values():
        rows.sort(key=lambda one: (one.at, one.pk))
    _receipts(wanted, found)
    return found


def _counts(
    wanted: dict[int, Container], inside: dict[str, Any], found: dict[int, list[Measured]]
) -> None:
    """Counts by hand: one row for each moment, with what was matched there later."""
    rows = Movement.objects.standing().filter(kind=MovementKind.COUNT, weighing=None, **inside)
    by_moment: dict[tuple[int, datetime], list[tuple[int, int]]] = defaultdict(list)
    for pk, container_id, moment, amount in rows.values_list(
        "pk", "container_id", "done_at_corrected", "amount_base"
    ):
        by_moment[container_id, moment].append((pk, amount))
    for (container_id, moment), parts in by_moment.items():
        container = wanted[container_id]
        share = 0.0 if container.item.dimension == "piece" else READ_BY_MARK
        found[container_id].append(
            Measured(
                moment,
                min(pk for pk, _ in parts),
                None,
                share * container.capacity_base,
                sum(amount for _, amount in parts),
            )
        )


def _receipts(wanted: dict[int, Container], found: dict[int, list[Measured]]) -> None:
    """What the label says of a new one is taken as its first measurement."""
    first = (
        Movement.objects.standing()
        .filter(container_id__in=list(found), kind__in=[MovementKind.RECEIPT, MovementKind.FOUND])
        .order_by("-done_at_corrected", "-pk")
        .values_list("container_id", "done_at_corrected", "pk")
    )
    for container_id, moment, pk in first:
        rows = found[container_id]
        if rows and moment < rows[0].at:
            noise = READ_BY_MARK * wanted[container_id].capacity_base
            rows.insert(0, Measured(moment, pk, None, noise, 0))


def _uses(
    wanted: dict[int, Container], measured: dict[int, list[Measured]]
) -> dict[int, list[tuple[datetime, int]]]:
    """Uses since the third last measurement of those whose last two are off by more than noise."""
    found: dict[int, list[tuple[datetime, int]]] = defaultdict(list)
    since = {pk: rows[-3:][0].at for pk, rows in measured.items() if not is_gas(wanted[pk])}
    if not since:
        return found
    rows = Movement.objects.filter(
        Q(kind=MovementKind.USE),
        container_id__in=list(since),
        done_at_corrected__gt=min(since.values()),
    ).values_list("container_id", "done_at_corrected", "amount_base")
    for container_id, moment, amount in rows:
        if moment > since[container_id]:
            found[container_id].append((moment, amount))
    return found


def _explained(showroom: Showroom) -> dict[int, list[tuple[Any, Any]]]:
    """Stretches of days that a person answered for, first and last day, by container."""
    found: dict[int, list[tuple[Any, Any]]] = defaultdict(list)
    rows = StockFinding.objects.of(showroom).standing()
    for container_id, first, end, said_at in rows.values_list(
        "container_id", "from_on", "to_on", "done_at_corrected"
    ):
        last = end - timedelta(days=1) if end else _day(showroom, said_at)
        found[container_id].append((first, last))
    return found


def _day(showroom: Showroom, moment: datetime) -> Any:
    return business_day(moment, showroom.tz, showroom.cut_off_hour)
