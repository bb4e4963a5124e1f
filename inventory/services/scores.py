"""Every projection held against what happened, when the truth came. Made again with the same end.

A container's truth comes when it is finished, weighed empty or counted to nothing, an item's when
the use since would have emptied it; what came since is left out, as the projection left it out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import floor

from django.db import transaction

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from inventory.forecast import score as scoring
from inventory.forecast.kept import unpacked
from inventory.forecast.types import HORIZON_DAYS, LEVELS, PlanSegment
from inventory.models import Forecast, ForecastScore
from inventory.queries.truths import Life, Truth, emptied, lives, spilled_days, truth_of

FIGURES = (
    "scored_at", "truth", "truth_on", "truth_days", "pit", "is_inside", "early_days", "crps_days",
    "plan_crps_days", "why_not",
)  # fmt: skip
AT_ONCE = 500
Plan = tuple[PlanSegment, ...]
Plans = Mapping[tuple[int, date], list[tuple[int, Plan]]]
"""Item and day of a projection -> plans of its containers."""


@dataclass(frozen=True, slots=True)
class Scored:
    """How many were scored new, scored again, and are still waiting for their truth."""

    new: int
    altered: int
    waiting: int


@dataclass(frozen=True, slots=True)
class _Known:
    by_item: Mapping[int, list[Life]]
    by_container: Mapping[int, Life]
    spilled: Mapping[int, list[date]]
    emptied: Mapping[int, list[tuple[str, date]]]
    plans: Plans


def score_due(*, showroom: Showroom, at: datetime) -> Scored:
    """Score what has met its truth and was not scored yet, or was only known to outlast its range.

    Running it twice changes nothing. A constant number of queries for each 500 projections.
    """
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    rows = list(
        Forecast.objects.of(showroom)
        .filter(as_of_on__lt=today)
        .exclude(score__truth__in=["ran_out", "not_scored"])
        .select_related("score", "container")
        .defer("because", "finding", "made_from")
        .order_by("pk")
    )
    known = _known(showroom, rows)
    new, altered, waiting = [], [], 0
    for row in rows:
        before = getattr(row, "score", None)
        made = _score(row, known, at)
        if made is None:
            waiting += 1
            continue
        if before is None:
            new.append(made)
        elif _told(before) != _told(made):
            made.pk = before.pk
            altered.append(made)
    with transaction.atomic():
        ForecastScore.objects.bulk_create(new, ignore_conflicts=True, batch_size=AT_ONCE)
        if altered:
            ForecastScore.objects.bulk_update(altered, FIGURES, batch_size=AT_ONCE)
    return Scored(len(new), len(altered), waiting)


def _known(showroom: Showroom, rows: Sequence[Forecast]) -> _Known:
    item_ids = {row.item_id for row in rows}
    found, gone = lives(showroom, item_ids), emptied(showroom, item_ids)
    by_item: dict[int, list[Life]] = defaultdict(list)
    for life in found.values():
        by_item[life.container.item_id].append(life)
    return _Known(
        by_item, found, spilled_days(showroom, item_ids), gone, _plans(showroom, rows, gone)
    )


def _plans(
    showroom: Showroom, rows: Sequence[Forecast], gone: Mapping[int, list[tuple[str, date]]]
) -> Plans:
    """What was planned of items from which a tank went, as projections of that day knew it."""
    asked = [row for row in rows if any(day > row.as_of_on for _, day in gone.get(row.item_id, ()))]
    if not asked:
        return {}
    kept = (
        Forecast.objects.of(showroom)
        .filter(
            item_id__in={row.item_id for row in asked},
            as_of_on__in={row.as_of_on for row in asked},
            container__isnull=False,
        )
        .order_by("pk")
        .values_list("item_id", "as_of_on", "container_id", "made_from")
    )
    out: dict[tuple[int, date], list[tuple[int, Plan]]] = defaultdict(list)
    for item_id, on, container_id, told in kept.iterator(chunk_size=AT_ONCE):
        if "case" in told:
            out[item_id, on].append((container_id, unpacked(told["case"]).plan))
    return out


def _told(row: ForecastScore) -> tuple[object, ...]:
    return tuple(getattr(row, name) for name in FIGURES if name != "scored_at")


def _score(row: Forecast, known: _Known, at: datetime) -> ForecastScore | None:
    """The score of one projection; None while its truth has not come."""
    if row.container_id is None:
        stock = known.by_item.get(row.item_id, [])
    else:
        stock = (
            [known.by_container[row.container_id]] if row.container_id in known.by_container else []
        )
    if not stock or len(row.quantiles_days) != len(LEVELS):
        return None
    truth = truth_of(stock, row.as_of_on, row.made_at)
    why = truth.why_not or _why_not(row, truth, stock, known)
    made = ForecastScore(showroom_id=row.showroom_id, forecast_id=row.pk, scored_at=at)
    if why:
        made.truth, made.why_not = "not_scored", why
        return made
    if truth.days is None:
        return _still_left(made, row, truth)
    if truth.days > HORIZON_DAYS:
        return None
    made.truth = "ran_out"
    return _figures(made, row, truth.days)


def _still_left(made: ForecastScore, row: Forecast, truth: Truth) -> ForecastScore | None:
    """It is measured that some is left after the whole range: outside, whenever it ends."""
    if truth.known_until is None:
        return None
    days = float((truth.known_until - row.as_of_on).days)
    if days <= row.quantiles_days[-1] or row.quantiles_days[-1] >= HORIZON_DAYS:
        return None
    made.truth = "still_left"
    return _figures(made, row, days)


def _figures(made: ForecastScore, row: Forecast, days: float) -> ForecastScore:
    found = scoring.score(row.quantiles_days, days)
    made.truth_days = round(days, 6)
    made.truth_on = row.as_of_on + timedelta(days=floor(days) + 1)
    made.pit, made.is_inside = round(found.pit, 6), found.is_inside
    made.early_days, made.crps_days = round(found.early, 6), round(found.crps, 6)
    if len(row.plan_quantiles_days) == len(LEVELS):
        made.plan_crps_days = round(scoring.crps(row.plan_quantiles_days, days), 6)
    return made


def _why_not(row: Forecast, truth: Truth, stock: list[Life], known: _Known) -> str:
    """What nobody could foresee came between."""
    if truth.known_until is None:
        return ""
    last = truth.known_until
    if truth.days is not None:
        last = row.as_of_on + timedelta(days=floor(truth.days))
    own = {life.container.pk for life in stock}
    if any(row.as_of_on < day <= last for pk in own for day in known.spilled.get(pk, ())):
        return "spilled"
    ends = [
        (code, day)
        for code, day in known.emptied.get(row.item_id, ())
        if row.as_of_on < day <= last
    ]
    return "tank_emptied" if ends and _was_unknown(row, ends, known.plans) else ""


def _was_unknown(row: Forecast, ends: list[tuple[str, date]], plans: Plans) -> bool:
    """Did the plan of such a tank, as the projection knew it, go on beyond that day?

    The plan of an item is that of its containers on the same day.
    """
    own = [
        plan
        for container_id, plan in plans.get((row.item_id, row.as_of_on), ())
        if row.container_id in {None, container_id}
    ]
    return any(
        segment.line == code and segment.start <= day and (segment.end is None or segment.end > day)
        for plan in own
        for segment in plan
        for code, day in ends
    )
