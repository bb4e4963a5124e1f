"""Scores of the last year as the database counts them: by stock, and by tenths of a day.

What comes back grows with the number of stocks, not with the number of projections.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Avg, Case, Count, DateField, F, Max, Q, QuerySet, Sum, Value, When
from django.db.models.functions import Floor, TruncMonth

from gallery_ops.kernel.models import Showroom
from inventory.forecast.score import SLOTS
from inventory.models import Container, Forecast, ForecastScore

SHOWN_DAYS = 365
PROMISES = (0.5, 0.7, 0.8, 0.9)
"""Shares of central ranges that can be told from the stored quantiles, p05 to p95."""
BINS_PER_DAY = 10
_EDGE = 1e-9

Turn = tuple[int, int | None, date | None]
"""Item id, container id, and for an item, which never ends, the month of its truth."""


@dataclass(frozen=True, slots=True)
class StockCount:
    """All that was scored of one stock. ``own_days``, ``plan_days``: sums of CRPS [days] over the
    ``both`` projections that have the two; ``own_alone_days`` over all ``n``."""

    turn: Turn
    item_name: str
    kind: str
    n: int
    placed: int
    kept: tuple[int, ...]
    slots: tuple[int, ...]
    both: int
    own_days: float
    plan_days: float
    own_alone_days: float
    ran_out: int
    truth_on: date | None
    longest_days: float


@dataclass(frozen=True, slots=True)
class Counted:
    """Every stock, newest truth first; ``early`` counts projections by item and tenth of a day."""

    stocks: tuple[StockCount, ...]
    early: Mapping[int, Counter[int]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class NotScored:
    """Why some could not be scored, how many, and of which stocks: ``spilled``, ``tank_emptied``,
    ``thrown_away``, ``changed_early``, ``not_measured``."""

    why: str
    n: int
    of: tuple[str, ...]


def scores_since(showroom: Showroom, at: datetime) -> QuerySet[Any]:
    """Scores of projections made in the last year."""
    since = at - timedelta(days=SHOWN_DAYS)
    found: QuerySet[Any] = ForecastScore.objects.of(showroom).filter(forecast__made_at__gte=since)
    return found


def with_turn(rows: QuerySet[Any]) -> QuerySet[Any]:
    """Each score with the month of its truth, where it is that of an item."""
    return rows.annotate(
        turn=Case(
            When(forecast__container__isnull=True, then=TruncMonth("truth_on")),
            default=Value(None),
            output_field=DateField(),
        )
    )


def counted(showroom: Showroom, at: datetime) -> Counted:
    """What was scored, by stock; two queries."""
    rows = scores_since(showroom, at).exclude(truth="not_scored")
    figures: dict[str, Any] = {
        "n": Count("pk"),
        "placed": Count("pit"),
        "both": Count("pk", filter=_both()),
        "own": Sum("crps_days", filter=_both()),
        "plan": Sum("plan_crps_days", filter=_both()),
        "alone": Avg("crps_days"),
        "out": Count("pk", filter=Q(truth="ran_out")),
        "newest": Max("truth_on"),
        "longest": Max("truth_days", filter=Q(truth="ran_out")),
    }
    figures |= {f"kept_{n}": Count("pk", filter=_within(p)) for n, p in enumerate(PROMISES)}
    figures |= {f"slot_{n}": Count("pk", filter=_slot(n)) for n in range(SLOTS)}
    groups = (
        with_turn(rows)
        .values(
            "forecast__item_id", "forecast__item__name", "forecast__item__kind",
            "forecast__container_id", "turn",
        )
        .annotate(**figures)
        .order_by("-newest", "forecast__item_id", "forecast__container_id")
    )  # fmt: skip
    early: dict[int, Counter[int]] = {}
    bins = (
        rows.filter(early_days__isnull=False)
        .values("forecast__item_id")
        .annotate(tenths=Floor(F("early_days") * BINS_PER_DAY + 0.5))
        .values_list("forecast__item_id", "tenths")
        .annotate(n=Count("pk"))
        .order_by("forecast__item_id", "tenths")
    )
    for item_id, tenths, n in bins:
        early.setdefault(item_id, Counter())[int(tenths)] += n
    return Counted(tuple(_stock(row) for row in groups), early)


def _both() -> Q:
    return Q(crps_days__isnull=False, plan_crps_days__isnull=False)


def _within(promise: float) -> Q:
    half = promise / 2 + _EDGE
    return Q(pit__gte=0.5 - half, pit__lte=0.5 + half)


def _slot(n: int) -> Q:
    """As :func:`inventory.forecast.score.slot_of` places a chance."""
    found = Q(pit__isnull=False)
    if n:
        found &= Q(pit__gte=n / SLOTS - _EDGE / SLOTS)
    if n < SLOTS - 1:
        found &= Q(pit__lt=(n + 1) / SLOTS - _EDGE / SLOTS)
    return found


def _stock(row: Mapping[str, Any]) -> StockCount:
    return StockCount(
        turn=(row["forecast__item_id"], row["forecast__container_id"], row["turn"]),
        item_name=row["forecast__item__name"],
        kind=row["forecast__item__kind"],
        n=row["n"],
        placed=row["placed"],
        kept=tuple(row[f"kept_{n}"] for n in range(len(PROMISES))),
        slots=tuple(row[f"slot_{n}"] for n in range(SLOTS)),
        both=row["both"],
        own_days=row["own"] or 0.0,
        plan_days=row["plan"] or 0.0,
        own_alone_days=(row["alone"] or 0.0) * row["n"],
        ran_out=row["out"],
        truth_on=row["newest"],
        longest_days=row["longest"] or 0.0,
    )


def half_way(
    showroom: Showroom, at: datetime, stocks: Iterable[StockCount]
) -> dict[Turn, ForecastScore]:
    """Of each stock that ran out the projection made half-way to its end; two queries."""
    longest = {one.turn: one.longest_days for one in stocks}
    if not longest:
        return {}
    containers = {turn[1] for turn in longest if turn[1] is not None}
    items = {turn[0] for turn in longest if turn[1] is None}
    rows = with_turn(scores_since(showroom, at).filter(truth="ran_out")).filter(
        Q(forecast__container_id__in=containers)
        | Q(forecast__container_id=None, forecast__item_id__in=items)
    )
    picked: dict[Turn, tuple[float, int]] = {}
    for pk, item_id, container_id, turn, days in rows.order_by("pk").values_list(
        "pk", "forecast__item_id", "forecast__container_id", "turn", "truth_days"
    ):
        key: Turn = (item_id, container_id, turn)
        if key not in longest:
            continue
        far = abs((days or 0.0) - longest[key] / 2)
        if key not in picked or (far, pk) < picked[key]:
            picked[key] = (far, pk)
    found = (
        ForecastScore.objects.filter(pk__in=[pk for _, pk in picked.values()])
        .select_related("forecast__item", "forecast__container__item", "forecast__container__lot")
        .defer("forecast__made_from", "forecast__because", "forecast__finding")
        .in_bulk()
    )
    return {turn: found[pk] for turn, (_, pk) in picked.items()}


def not_scored(showroom: Showroom, at: datetime) -> list[NotScored]:
    """What could not be scored, counted and named; two queries."""
    groups = list(
        scores_since(showroom, at)
        .filter(truth="not_scored")
        .values_list("why_not", "forecast__item__name", "forecast__container_id")
        .annotate(n=Count("pk"))
        .order_by("why_not", "forecast__item__name", "forecast__container_id")
    )
    codes = _codes({container_id for _, _, container_id, _ in groups if container_id})
    counts: dict[str, int] = {}
    names: dict[str, list[str]] = {}
    for why, item_name, container_id, n in groups:
        counts[why] = counts.get(why, 0) + n
        name = f"{item_name} {codes[container_id]}" if container_id else item_name
        names.setdefault(why, []).append(name)
    return [NotScored(why, n, tuple(names[why])) for why, n in sorted(counts.items())]


def _codes(container_ids: set[int]) -> dict[int, str]:
    rows = Container.objects.filter(pk__in=container_ids).order_by("pk")
    return dict(rows.values_list("pk", "code"))


def waiting(showroom: Showroom) -> int:
    """How many projections have not met their truth; one query."""
    rows = Forecast.objects.of(showroom)
    return int(rows.filter(Q(score=None) | Q(score__truth="still_left")).count())
