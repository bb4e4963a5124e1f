"""How wrong were our projections? Every one that has met its truth, for all and by item.

Projections of one stock err together: forty of one bottle are not forty tries. Shares count every
projection; how much luck explains is judged by the number of stocks. Beads show one projection for
each stock, the one made half-way between the first and the truth.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from statistics import fmean, median
from typing import Literal

from gallery_ops.kernel.models import Showroom
from inventory.forecast.score import SLOTS, luck_of, slot_of
from inventory.models import Forecast, ForecastScore

Turn = tuple[int, int | None, object]
"""Item id, container id, and for an item, which never ends, the month of its truth."""
Verdict = Literal["too_few", "as_promised", "too_narrow", "too_wide"]
PROMISES = (0.5, 0.7, 0.8, 0.9)
"""Shares of central ranges that can be told from the stored quantiles, p05 to p95."""
JUDGED_FROM = 15
"""Projections from which on a group is judged; and of at least so many stocks:"""
JUDGED_STOCKS = 3
NARROW_BELOW, WIDE_ABOVE = 0.60, 0.95
LAST = 10
SHOWN_DAYS = 365


@dataclass(frozen=True, slots=True)
class Kept:
    """A promise and what came of it: of ``n`` ranges that should hold the truth with chance
    ``promise``, ``inside`` did; luck alone gives ``luck_lo`` to ``luck_hi`` in 95 of 100 cases.

    All but ``n`` and ``inside`` are shares, 0 to 1.
    """

    promise: float
    n: int
    inside: int
    luck_lo: float
    luck_hi: float

    @property
    def share(self) -> float:
        """What was kept."""
        return self.inside / self.n if self.n else 0.0

    @property
    def is_luck(self) -> bool:
        """Does luck explain the difference?"""
        return self.luck_lo <= self.share <= self.luck_hi


@dataclass(frozen=True, slots=True)
class Tally:
    """Scores put together. None where nothing was scored.

    ``early_days``: median of likely day before (+) or after (-) the truth, as in "2 days sooner
    than it was"; ``off_days``: median distance. CRPS are means [days]. ``slots``: in which tenth
    of its range the truth fell, from sooner to later; luck alone leaves each slot within
    ``slot_lo`` to ``slot_hi``.
    """

    n: int
    stocks: int
    kept: tuple[Kept, ...]
    early_days: float | None
    off_days: float | None
    crps_days: float | None
    plan_crps_days: float | None
    slots: tuple[int, ...]
    slot_lo: float
    slot_hi: float
    verdict: Verdict

    @property
    def inside(self) -> Kept | None:
        """The promise of the shown range, p10 to p90."""
        return next((one for one in self.kept if one.promise == 0.8), None)

    @property
    def closer_than_plan(self) -> float | None:
        """Share by which the error is smaller (+) or larger (-) than that of the plan alone."""
        if not self.plan_crps_days or self.crps_days is None:
            return None
        return 1 - self.crps_days / self.plan_crps_days


@dataclass(frozen=True, slots=True)
class Bead:
    """One stock that ran out, and one projection of it. Days before the truth are negative.

    ``lo``, ``hi``: the shown range beside the likely day [days]; ``off_days``: truth after (+) or
    before (-) the likely day.
    """

    forecast_id: int
    name: str
    made_on: date
    truth_on: date
    off_days: float
    lo_days: float
    hi_days: float
    is_inside: bool


@dataclass(frozen=True, slots=True)
class CardLine:
    """One item, one kind of item, or all: the last ten stocks as beads and all that was scored.

    ``key`` is ``item:7``, ``kind:gas`` or ``all``; ``last`` is the tally of the projections of the
    last ten stocks.
    """

    key: str
    name: str
    beads: tuple[Bead, ...]
    last: Tally
    whole: Tally


@dataclass(frozen=True, slots=True)
class NotScored:
    """Why some could not be scored, and how many: ``spilled``, ``tank_emptied``,
    ``thrown_away``, ``changed_early``, ``not_measured``."""

    why: str
    n: int


@dataclass(frozen=True, slots=True)
class ReportCard:
    """All that were scored in the last year, worst item first; ``waiting`` have not met their
    truth."""

    whole: CardLine
    kinds: tuple[CardLine, ...]
    items: tuple[CardLine, ...]
    not_scored: tuple[NotScored, ...]
    waiting: int
    scored_at: datetime | None


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


def report_card(showroom: Showroom, at: datetime) -> ReportCard:
    """How wrong the projections of the last year were. Three queries, however many there are."""
    rows = _scored(showroom, at)
    scored = [row for row in rows if row.truth != "not_scored"]
    by_item: dict[int, list[ForecastScore]] = defaultdict(list)
    by_kind: dict[str, list[ForecastScore]] = defaultdict(list)
    for row in scored:
        by_item[row.forecast.item_id].append(row)
        by_kind[row.forecast.item.kind].append(row)
    items = [
        _line(f"item:{pk}", found[0].forecast.item.name, found) for pk, found in by_item.items()
    ]
    kinds = [
        _line(f"kind:{kind}", str(found[0].forecast.item.get_kind_display()), found)
        for kind, found in sorted(by_kind.items())
    ]
    met = {row.forecast_id for row in rows if row.truth != "still_left"}
    return ReportCard(
        whole=_line("all", "", scored),
        kinds=tuple(kinds),
        items=tuple(sorted(items, key=_worst_first)),
        not_scored=tuple(_not_scored(rows)),
        waiting=Forecast.objects.of(showroom).count() - len(met),
        scored_at=max((row.scored_at for row in rows), default=None),
    )


def scored_forecasts(showroom: Showroom, at: datetime) -> list[ScoredForecast]:
    """Every projection of the last year that was scored or could not be, newest truth first."""
    return [
        ScoredForecast(
            forecast_id=row.forecast_id,
            name=_name(row.forecast),
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
        for row in _scored(showroom, at)
    ]


def _scored(showroom: Showroom, at: datetime) -> list[ForecastScore]:
    since = at - timedelta(days=SHOWN_DAYS)
    return list(
        ForecastScore.objects.of(showroom)
        .filter(forecast__made_at__gte=since)
        .select_related("forecast__item", "forecast__container__item", "forecast__container__lot")
        .defer("forecast__made_from", "forecast__because", "forecast__finding")
        .order_by("-truth_on", "-forecast__as_of_on", "pk")
    )


def _name(row: Forecast) -> str:
    return row.item.name if row.container is None else f"{row.container}, {row.item.name}"


def _not_scored(rows: Iterable[ForecastScore]) -> list[NotScored]:
    counted: dict[str, int] = defaultdict(int)
    for row in rows:
        if row.truth == "not_scored":
            counted[row.why_not] += 1
    return [NotScored(why, n) for why, n in sorted(counted.items())]


def _line(key: str, name: str, rows: Sequence[ForecastScore]) -> CardLine:
    """Rows come newest truth first."""
    stocks = _by_stock(rows)
    lately = [row for found in list(stocks.values())[:LAST] for row in found]
    ran_out = [found for found in stocks.values() if found[0].truth == "ran_out"]
    return CardLine(
        key=key,
        name=name,
        beads=tuple(_bead(_half_way(found)) for found in ran_out[:LAST]),
        last=tally(lately),
        whole=tally(rows),
    )


def _by_stock(
    rows: Iterable[ForecastScore],
) -> dict[Turn, list[ForecastScore]]:
    """Projections of one stock that met one truth."""
    out: dict[Turn, list[ForecastScore]] = defaultdict(list)
    for row in rows:
        of = row.forecast
        turn = None if of.container_id else row.truth_on and (row.truth_on.year, row.truth_on.month)
        out[of.item_id, of.container_id, turn].append(row)
    return out


def _half_way(found: Sequence[ForecastScore]) -> ForecastScore:
    days = sorted(row.truth_days or 0.0 for row in found)
    middle = days[-1] / 2
    return min(found, key=lambda row: (abs((row.truth_days or 0.0) - middle), row.pk))


def _bead(row: ForecastScore) -> Bead:
    of = row.forecast
    earliest, likely, latest = (of.quantiles_days[n] for n in (1, 9, 17))
    truth = row.truth_days or 0.0
    return Bead(
        forecast_id=of.pk,
        name=_name(of),
        made_on=of.as_of_on,
        truth_on=row.truth_on or of.as_of_on,
        off_days=truth - likely,
        lo_days=earliest - likely,
        hi_days=latest - likely,
        is_inside=bool(row.is_inside),
    )


def tally(rows: Sequence[ForecastScore]) -> Tally:
    """Scores put together."""
    pits = [row.pit for row in rows if row.pit is not None]
    stocks = len(_by_stock(rows))
    early = [row.early_days for row in rows if row.early_days is not None]
    crps = [row.crps_days for row in rows if row.crps_days is not None]
    both = [
        (row.crps_days, row.plan_crps_days)
        for row in rows
        if row.crps_days is not None and row.plan_crps_days is not None
    ]
    slots = [0] * SLOTS
    for pit in pits:
        slots[slot_of(pit)] += 1
    slot_lo, slot_hi = luck_of(1 / SLOTS, stocks)
    return Tally(
        n=len(rows),
        stocks=stocks,
        kept=tuple(_kept(promise, pits, stocks) for promise in PROMISES),
        early_days=median(early) if early else None,
        off_days=median(abs(days) for days in early) if early else None,
        crps_days=fmean(own for own, _ in both or [(one, 0.0) for one in crps]) if crps else None,
        plan_crps_days=fmean(plan for _, plan in both) if both else None,
        slots=tuple(slots),
        slot_lo=slot_lo * len(pits),
        slot_hi=slot_hi * len(pits),
        verdict=_verdict(pits, stocks),
    )


def _kept(promise: float, pits: Sequence[float], stocks: int) -> Kept:
    inside = sum(abs(pit - 0.5) <= promise / 2 + 1e-9 for pit in pits)
    lo, hi = luck_of(promise, stocks)
    return Kept(promise, len(pits), inside, lo, hi)


def _verdict(pits: Sequence[float], stocks: int) -> Verdict:
    if len(pits) < JUDGED_FROM or stocks < JUDGED_STOCKS:
        return "too_few"
    share = sum(abs(pit - 0.5) <= 0.4 + 1e-9 for pit in pits) / len(pits)
    if share < NARROW_BELOW:
        return "too_narrow"
    return "too_wide" if share > WIDE_ABOVE else "as_promised"


def _worst_first(line: CardLine) -> tuple[bool, float, str]:
    """Those that can be judged, farthest from the promise first; then the others by name."""
    inside = line.whole.inside
    away = abs(inside.share - inside.promise) if inside and inside.n else 0.0
    return line.whole.verdict == "too_few", -away, line.name
