"""How much gas went between weighings, beside what the plan had asked for?

A line is what feeds one set of tanks; its history goes on across an exchange. Its usual is the
median of its own past, each weighing counted by the days that it covers, so that a few weighings
on a leaking line do not make the leak usual.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import sqrt

from inventory.forecast.cusum import Run, onset, upward
from inventory.forecast.watch import WeighedUse
from inventory.models import Container
from inventory.queries.levels import planned_between
from inventory.queries.measured_facts import Weighed
from inventory.queries.stock_facts import StockFacts, is_gas

LEAST_HOURS = 12
"""Two weighings closer together than this are one: the second is only a check of the first."""
LEAST_INTERVALS = 4
LEAST_DAYS = 21
"""History that makes an own median (common practice, no source)."""
LEAST_SPREAD = 0.05
"""A valve is never steadier than this from one weighing to the next, relative (common practice, no
source)."""
MAD_TO_SD = 1.4826


@dataclass(frozen=True, slots=True)
class GasPeriod:
    """A cylinder under its tanks, or the part of that since a use crept up.

    ``g_per_day`` is weighed, over ``days``; None where it was not weighed twice.
    """

    serial: str
    start: date
    g_per_day: float | None
    weighings: int
    is_now: bool


@dataclass(frozen=True, slots=True)
class GasLine:
    """The weighed use of a line: its pieces, its own median, and the sum that watches it.

    ``run`` is None while there are too few weighings for an own median. ``since`` is the day from
    which the use has crept up, ``g_per_day`` what went a day since then, ``usual`` what would have.
    """

    periods: tuple[GasPeriod, ...]
    usual_g_per_day: float | None
    run: Run | None
    intervals: int
    since: date | None = None
    g_per_day: float | None = None
    usual_since: float | None = None

    @property
    def is_over(self) -> bool:
        """The sum has passed its limit."""
        return self.run is not None and self.run.is_over


def weighed_uses(facts: StockFacts, container: Container) -> tuple[list[WeighedUse], float]:
    """Intervals of the gas line that a cylinder feeds, in order, and the noise of a weighing [g].

    The history of the line goes on across an exchange: cylinders that fed the same tanks before
    are part of it, each within its own weighings. Gas received in between is added to the use.
    """
    line = lines(facts)[container.pk]
    out = [use for pk in line for use in intervals(facts, pk)]
    return sorted(out, key=lambda use: (use.end, use.start)), _scale_sd_g(facts, line)


def lines(facts: StockFacts) -> Mapping[int, tuple[int, ...]]:
    """Cylinder -> the cylinders of its line, itself among them."""
    fed: dict[tuple[int, frozenset[int]], list[int]] = {}
    for pk, container in facts.containers.items():
        tanks = frozenset(f.tank_id for f in facts.feeds.get(pk, ()))
        if is_gas(container) and tanks:
            fed.setdefault((container.item_id, tanks), []).append(pk)
    found: dict[int, tuple[int, ...]] = {}
    for pk, container in facts.containers.items():
        now = frozenset(f.tank_id for f in facts.feeds.get(pk, ()) if f.holds(facts.today))
        others = fed.get((container.item_id, now), []) if now else []
        found[pk] = tuple(sorted({pk, *others}))
    return found


def gas_line(facts: StockFacts, container: Container, line: Sequence[int]) -> GasLine:
    """What the weighings of a cylinder's line say, across its exchanges.

    Usual and scatter come from the whole line. The sum begins anew with each cylinder, since its
    thread was opened, closed and soaped.
    """
    by_cylinder = [(pk, use) for pk in line for use in intervals(facts, pk)]
    by_cylinder.sort(key=lambda pair: (pair[1].end, pair[1].start))
    uses = [use for _pk, use in by_cylinder]
    planned = [use for use in uses if use.planned_g > 0] or uses
    usual = _median((use.used_g / use.days, use.days) for use in planned if use.days)
    if len(uses) < LEAST_INTERVALS or sum(use.days for use in uses) < LEAST_DAYS:
        return GasLine(_pieces(facts, container, line, None), usual, None, len(uses))
    expected, spread = _expected(uses)
    sd_g = _scale_sd_g(facts, line)
    own = [
        (use, due, (use.used_g - due) / sqrt(2 * sd_g**2 + (spread * due) ** 2 + 0.01))
        for (pk, use), due in zip(by_cylinder, expected, strict=True)
        if pk == container.pk
    ]
    excesses = [excess for _use, _due, excess in own]
    run = upward(excesses)
    climbing = own[onset(excesses, run) :]
    days = sum(use.days for use, _due, _excess in climbing)
    since = climbing[0][0].start if run.is_over and climbing else None
    return GasLine(
        periods=_pieces(facts, container, line, since),
        usual_g_per_day=usual,
        run=run,
        intervals=len(uses),
        since=since,
        g_per_day=sum(use.used_g for use, _, _ in climbing) / days if since and days else None,
        usual_since=sum(due for _, due, _ in climbing) / days if since and days else None,
    )


def intervals(facts: StockFacts, pk: int) -> list[WeighedUse]:
    """What went between two weighings of one cylinder while it hung at a tank, in order [g]."""
    out: list[WeighedUse] = []
    for first, second in pairwise(_apart(facts.weighed.get(pk, []))):
        if not _hung(facts, pk, first.day, second.day):
            continue
        got = sum(m.amount for m in facts.moved.get(pk, ()) if first.at < m.at <= second.at)
        planned = planned_between(facts, facts.feeds.get(pk, ()), first.at, second.at)
        out.append(
            WeighedUse(
                start=first.day,
                end=second.day,
                used_g=(first.net + got - second.net) / 1000,
                planned_g=planned / 1000,
            )
        )
    return out


def _hung(facts: StockFacts, pk: int, start: date, end: date) -> bool:
    """Did it feed a tank on any day of an interval? In the store it uses nothing."""
    return any(
        feed.start < end and (feed.end is None or feed.end > start)
        for feed in facts.feeds.get(pk, ())
    )


def _expected(uses: Sequence[WeighedUse]) -> tuple[list[float], float]:
    """What each interval would have used as usual [g], and how far that scatters, relative.

    Use is taken per planned gram, so that a changed plan is not a leak; where nothing was ever
    planned, per day.
    """
    is_planned = any(use.planned_g > 0 for use in uses)
    per = [use.planned_g if is_planned else float(use.days) for use in uses]
    ratios = [
        (use.used_g / each, max(1, use.days))
        for use, each in zip(uses, per, strict=True)
        if each > 0
    ]
    usual = max(0.0, _median(ratios) or 0.0)
    off = _median((abs(ratio - usual), days) for ratio, days in ratios) or 0.0
    spread = MAD_TO_SD * off / usual if usual > 0 else 0.0
    return [usual * each for each in per], max(LEAST_SPREAD, spread)


def _pieces(
    facts: StockFacts, container: Container, line: Sequence[int], since: date | None
) -> tuple[GasPeriod, ...]:
    """One piece a cylinder, the present one cut where its use crept up."""
    found: list[GasPeriod] = []
    for pk in sorted(line, key=lambda pk: _first_day(facts, pk)):
        row, uses = facts.containers[pk], intervals(facts, pk)
        if not facts.feeds.get(pk):
            continue
        serial = row.cylinder.serial if hasattr(row, "cylinder") else row.code
        parts = [(_first_day(facts, pk), uses)]
        if since is not None and any(use.start >= since for use in uses):
            before = [use for use in uses if use.start < since]
            after = [use for use in uses if use.start >= since]
            parts = [(_first_day(facts, pk), before)] if before else []
            parts.append((since, after))
        for start, mine in parts:
            days = sum(use.days for use in mine)
            found.append(
                GasPeriod(
                    serial=serial,
                    start=start,
                    g_per_day=sum(use.used_g for use in mine) / days if days else None,
                    weighings=len(mine),
                    is_now=pk == container.pk,
                )
            )
    return tuple(found)


def _first_day(facts: StockFacts, pk: int) -> date:
    return min((feed.start for feed in facts.feeds.get(pk, ())), default=facts.today)


def _median(values: Iterable[tuple[float, int]]) -> float | None:
    """The middle value, each counted so many times; None of none."""
    rows = sorted(values)
    half, passed = sum(weight for _value, weight in rows) / 2, 0
    for value, weight in rows:
        passed += weight
        if passed >= half:
            return value
    return None


def _scale_sd_g(facts: StockFacts, line: Sequence[int]) -> float:
    return max((seen.sd for pk in line for seen in facts.weighed.get(pk, ())), default=0.0) / 1000


def _apart(weighings: list[Weighed]) -> list[Weighed]:
    """The weighings, of several within half a day only the last."""
    out: list[Weighed] = []
    for seen in weighings:
        if out and (seen.at - out[-1].at).total_seconds() < LEAST_HOURS * 3600:
            out[-1] = seen
        else:
            out.append(seen)
    return out
