"""Every projection of the last year that met its truth or could not be scored, one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import overload

from django.db.models import QuerySet

from gallery_ops.kernel.models import Showroom
from inventory.models import Forecast, ForecastScore
from inventory.queries.report_counts import scores_since


@dataclass(frozen=True, slots=True)
class ScoredForecast:
    """One line of "every forecast"."""

    forecast_id: int
    name: str
    made_on: date
    earliest: date | None
    likely: date | None
    latest: date | None
    truth: str
    """``ran_out``, ``still_left`` (after the whole range) or ``not_scored``."""
    truth_on: date | None
    is_inside: bool | None
    early_days: float | None
    pit: float | None
    crps_days: float | None
    plan_crps_days: float | None
    why_not: str


class EveryForecast(Sequence[ScoredForecast]):
    """Every projection of the last year that was scored or could not be, newest truth first; only
    what is looked at is read."""

    def __init__(self, showroom: Showroom, at: datetime) -> None:
        self._rows: QuerySet[ForecastScore] = (
            scores_since(showroom, at)
            .select_related(
                "forecast__item", "forecast__container__item", "forecast__container__lot"
            )
            .defer("forecast__made_from", "forecast__because", "forecast__finding")
            .order_by("-truth_on", "-forecast__as_of_on", "pk")
        )

    def __len__(self) -> int:
        return self._rows.count()

    @overload
    def __getitem__(self, at: int) -> ScoredForecast: ...
    @overload
    def __getitem__(self, at: slice) -> list[ScoredForecast]: ...
    def __getitem__(self, at: int | slice) -> ScoredForecast | list[ScoredForecast]:
        if isinstance(at, slice):
            return [_told(row) for row in self._rows[at]]
        return _told(self._rows[at])

    def __iter__(self) -> Iterator[ScoredForecast]:
        return (_told(row) for row in self._rows)


def scored_forecasts(showroom: Showroom, at: datetime) -> EveryForecast:
    """Every projection of the last year that was scored or could not be."""
    return EveryForecast(showroom, at)


def _told(row: ForecastScore) -> ScoredForecast:
    return ScoredForecast(
        forecast_id=row.forecast_id,
        name=name_of(row.forecast),
        made_on=row.forecast.as_of_on,
        earliest=row.forecast.earliest_on,
        likely=row.forecast.likely_on,
        latest=row.forecast.latest_on,
        truth=row.truth,
        truth_on=row.truth_on,
        is_inside=row.is_inside,
        early_days=row.early_days,
        pit=row.pit,
        crps_days=row.crps_days,
        plan_crps_days=row.plan_crps_days,
        why_not=row.why_not,
    )


def name_of(row: Forecast) -> str:
    """What a projection is about."""
    return row.item.name if row.container is None else f"{row.container}, {row.item.name}"
