"""How wrong were our projections? Every one that has met its truth, for all and by item.

Projections of one stock err together: forty of one bottle are not forty tries. Shares count every
projection; how much luck explains is judged by the number of stocks. Beads show one projection for
each stock, the one made half-way between the first and the truth.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from statistics import median
from typing import Literal

from django.db.models import Max

from gallery_ops.kernel.models import Showroom
from inventory.forecast.score import SLOTS, luck_of
from inventory.models import ForecastScore, ItemKind
from inventory.queries.report_counts import (
    BINS_PER_DAY,
    PROMISES,
    NotScored,
    StockCount,
    Turn,
    counted,
    half_way,
    not_scored,
    scores_since,
    waiting,
)
from inventory.queries.report_done import Done, done_about
from inventory.queries.report_every import name_of

Verdict = Literal["too_few", "as_promised", "too_narrow", "too_wide"]
JUDGED_FROM = 15
"""Projections from which on a group is judged; and of at least so many stocks:"""
JUDGED_STOCKS = 3
NARROW_BELOW, WIDE_ABOVE = 0.60, 0.95
LAST = 10
SHOWN = 0.8
"""The promise of the shown range, p10 to p90."""
WIDTHS_FROM, LATELY = 6, 3
"""Widths are compared from so many beads on: those of the last three with those before."""
WIDTH_TOLD = 1.15


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

    ``early_days``: median, to a tenth of a day, of likely day before (+) or after (-) the truth, as
    in "2 days sooner than it was"; ``off_days``: median distance. CRPS are means [days].
    ``slots``: in which tenth of its range the truth fell, from sooner to later; luck alone leaves
    each slot within ``slot_lo`` to ``slot_hi``.
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
        return next((one for one in self.kept if one.promise == SHOWN), None)

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
    likely_days: float
    is_inside: bool

    @property
    def width(self) -> float:
        """The shown range as a part of the likely time."""
        return (self.hi_days - self.lo_days) / max(1.0, self.likely_days)


@dataclass(frozen=True, slots=True)
class Redrawn:
    """Ranges of the last stocks beside those before: so many ``times`` as wide, since a day.

    All were made half-way to the end of their stock, so they can be compared.
    """

    times: float
    since: date


@dataclass(frozen=True, slots=True)
class CardLine:
    """One item, one kind of item, or all: the last ten stocks as beads and all that was scored.

    ``key`` is ``item:7``, ``kind:gas`` or ``all``; ``done`` is what was asked and measured since.
    """

    key: str
    name: str
    beads: tuple[Bead, ...]
    whole: Tally
    done: tuple[Done, ...] = ()

    @property
    def redrawn(self) -> Redrawn | None:
        """Are ranges drawn otherwise of late? None where there are too few, or they are alike."""
        beads = sorted(self.beads, key=lambda bead: bead.made_on)
        if len(beads) < WIDTHS_FROM:
            return None
        before = median(bead.width for bead in beads[:-LATELY])
        times = median(bead.width for bead in beads[-LATELY:]) / before if before else 1.0
        if 1 / WIDTH_TOLD < times < WIDTH_TOLD:
            return None
        return Redrawn(times, beads[-LATELY].made_on)


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


def report_card(showroom: Showroom, at: datetime) -> ReportCard:
    """How wrong the projections of the last year were, as the database counts; constant queries."""
    found = counted(showroom, at)
    by_item: dict[int, list[StockCount]] = defaultdict(list)
    by_kind: dict[str, list[StockCount]] = defaultdict(list)
    for one in found.stocks:
        by_item[one.turn[0]].append(one)
        by_kind[one.kind].append(one)
    last = [one for stocks in by_item.values() for one in _last_out(stocks)]
    middle, done = half_way(showroom, at, last), done_about(showroom, at)
    items = [
        CardLine(
            key=f"item:{pk}",
            name=stocks[0].item_name,
            beads=_beads(stocks, middle),
            whole=tally(stocks, found.early.get(pk, Counter())),
            done=done.get(pk, ()),
        )
        for pk, stocks in by_item.items()
    ]
    kinds = [
        CardLine(
            key=f"kind:{kind}",
            name=str(ItemKind(kind).label),
            beads=_beads(stocks, middle),
            whole=tally(stocks, _early(found.early, stocks)),
        )
        for kind, stocks in sorted(by_kind.items())
    ]
    every = found.stocks
    return ReportCard(
        whole=CardLine("all", "", _beads(every, middle), tally(every, _early(found.early, every))),
        kinds=tuple(kinds),
        items=tuple(sorted(items, key=_worst_first)),
        not_scored=tuple(not_scored(showroom, at)),
        waiting=waiting(showroom),
        scored_at=scores_since(showroom, at).aggregate(newest=Max("scored_at"))["newest"],
    )


def _last_out(stocks: Sequence[StockCount]) -> list[StockCount]:
    """Of stocks, newest truth first, the last ten that ran out."""
    return [one for one in stocks if one.ran_out][:LAST]


def _beads(stocks: Sequence[StockCount], middle: Mapping[Turn, ForecastScore]) -> tuple[Bead, ...]:
    known = [one for one in _last_out(stocks) if one.turn in middle]
    return tuple(_bead(middle[one.turn]) for one in known)


def _bead(row: ForecastScore) -> Bead:
    of = row.forecast
    earliest, likely, latest = (of.quantiles_days[n] for n in (1, 9, 17))
    truth = row.truth_days or 0.0
    return Bead(
        forecast_id=of.pk,
        name=name_of(of),
        made_on=of.as_of_on,
        truth_on=row.truth_on or of.as_of_on,
        off_days=truth - likely,
        lo_days=earliest - likely,
        hi_days=latest - likely,
        likely_days=likely,
        is_inside=bool(row.is_inside),
    )


def _early(by_item: Mapping[int, Counter[int]], stocks: Sequence[StockCount]) -> Counter[int]:
    out: Counter[int] = Counter()
    for item_id in {one.turn[0] for one in stocks}:
        out.update(by_item.get(item_id, {}))
    return out


def tally(stocks: Sequence[StockCount], early: Mapping[int, int]) -> Tally:
    """Counts of stocks put together; ``early`` by tenth of a day."""
    n, both = sum(one.n for one in stocks), sum(one.both for one in stocks)
    placed = sum(one.placed for one in stocks)
    own = sum(one.own_days for one in stocks) if both else sum(one.own_alone_days for one in stocks)
    slot_lo, slot_hi = luck_of(1 / SLOTS, len(stocks))
    away: Counter[int] = Counter()
    for tenths, count in early.items():
        away[abs(tenths)] += count
    kept = tuple(
        _kept(promise, placed, sum(one.kept[at] for one in stocks), len(stocks))
        for at, promise in enumerate(PROMISES)
    )
    return Tally(
        n=n,
        stocks=len(stocks),
        kept=kept,
        early_days=_median(early),
        off_days=_median(away),
        crps_days=own / (both or n) if n else None,
        plan_crps_days=sum(one.plan_days for one in stocks) / both if both else None,
        slots=tuple(sum(one.slots[at] for one in stocks) for at in range(SLOTS)),
        slot_lo=slot_lo * placed,
        slot_hi=slot_hi * placed,
        verdict=_verdict(kept, placed, len(stocks)),
    )


def _median(counts: Mapping[int, int]) -> float | None:
    """The middle of counted tenths of a day [days]."""
    n = sum(counts.values())
    if not n:
        return None
    middle = ((n - 1) // 2, n // 2)
    found, seen = [], 0
    for tenths, count in sorted(counts.items()):
        found += [tenths for at in middle if seen <= at < seen + count]
        seen += count
    return sum(found) / len(found) / BINS_PER_DAY


def _kept(promise: float, placed: int, inside: int, stocks: int) -> Kept:
    lo, hi = luck_of(promise, stocks)
    return Kept(promise, placed, inside, lo, hi)


def _verdict(kept: Sequence[Kept], placed: int, stocks: int) -> Verdict:
    if placed < JUDGED_FROM or stocks < JUDGED_STOCKS:
        return "too_few"
    share = next(one.share for one in kept if one.promise == SHOWN)
    if share < NARROW_BELOW:
        return "too_narrow"
    return "too_wide" if share > WIDE_ABOVE else "as_promised"


def _worst_first(line: CardLine) -> tuple[bool, float, str]:
    """Those that can be judged, farthest from the promise first; then the others by name."""
    inside = line.whole.inside
    away = abs(inside.share - inside.promise) if inside and inside.n else 0.0
    return line.whole.verdict == "too_few", -away, line.name
