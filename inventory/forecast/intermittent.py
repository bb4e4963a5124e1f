"""When are pieces used up that are asked for now and then, without a plan?

Demand days are Bernoulli with faded counts, so their number ahead is beta-binomial; sizes are
geometric with an uncertain parameter, taken at nine points of equal weight. Nothing is drawn at
random. Priors are assumptions of this program: one demand day in ten, pieces mostly one or two at a
time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inventory.forecast.days import AHEAD_DAYS
from inventory.forecast.prior import Floats
from inventory.forecast.rates import rate_of
from inventory.forecast.types import Case

FADE_PER_DAY = 0.010
PRIOR_DEMAND, PRIOR_NONE = 1.0, 9.0
PRIOR_SIZE = (3.0, 1.5)
SIZE_POINTS, GRID = 9, 400


@dataclass(frozen=True, slots=True)
class Asked:
    """What past demand says: faded counts of days with and without, sizes, and the stock now."""

    with_demand: float
    without: float
    sizes: Floats
    """Nine values of the geometric parameter, each with the same weight."""
    stock: int
    per_day: float
    """Rate for showing, see :mod:`inventory.forecast.rates`."""


def asked(case: Case) -> Asked:
    """Read the demand history of a case. Stock: last count less demand since, with receipts."""
    demand = np.asarray(case.demand or (), dtype=np.float64)
    faded = np.exp(-FADE_PER_DAY * np.arange(len(demand))[::-1])
    is_demand = demand > 0
    days, pieces = float(is_demand.sum()), float(demand.sum())
    return Asked(
        with_demand=PRIOR_DEMAND + float(faded[is_demand].sum()),
        without=PRIOR_NONE + float(faded[~is_demand].sum()),
        sizes=_sizes(PRIOR_SIZE[0] + days, PRIOR_SIZE[1] + pieces - days),
        stock=_stock(case, demand),
        per_day=rate_of(demand.tolist()).per_day,
    )


def out_by(case: Case, found: Asked) -> Floats:
    """P(stock gone by the end of day t), not falling; (AHEAD_DAYS+1,) [1].

    Booked demand ahead is taken from the stock on its day.
    """
    stock = np.full(AHEAD_DAYS + 1, found.stock)
    for event in case.events:
        day = (event.on - case.as_of).days
        if 1 <= day <= AHEAD_DAYS and event.kind != "receipt":
            stock[day:] += round(event.amount)
    out = np.empty(AHEAD_DAYS + 1)
    for pieces in np.unique(stock):
        held = stock == pieces
        out[held] = 1 - _lasts(found, int(pieces))[held]
    return np.maximum.accumulate(out)


def _lasts(found: Asked, pieces: int) -> Floats:
    """P(fewer than ``pieces`` are asked for within t days); (AHEAD_DAYS+1,)."""
    from scipy.special import betaln, gammaln
    from scipy.stats import nbinom

    if pieces <= 0:
        return np.zeros(AHEAD_DAYS + 1)
    t = np.arange(AHEAD_DAYS + 1)[:, None]
    j = np.arange(min(pieces, AHEAD_DAYS + 1))[None, :]
    a, b = found.with_demand, found.without
    rest = np.maximum(t - j, 0)
    log_days = gammaln(t + 1) - gammaln(j + 1) - gammaln(rest + 1)
    log_days = log_days + betaln(j + a, rest + b) - betaln(a, b)
    days = np.where(j <= t, np.exp(log_days), 0.0)
    fewer = np.ones((len(found.sizes), j.shape[1]))
    n = j[0, 1:]
    if len(n):
        fewer[:, 1:] = nbinom.cdf(pieces - 1 - n, n, found.sizes[:, None])
    return np.asarray(days @ fewer.mean(0), dtype=np.float64)


def _sizes(a: float, b: float) -> Floats:
    """Medians of the ninths of a beta distribution on a grid of midpoints."""
    grid = (np.arange(GRID) + 0.5) / GRID
    log_weight = (a - 1) * np.log(grid) + (b - 1) * np.log1p(-grid)
    weight = np.exp(log_weight - log_weight.max())
    share = np.cumsum(weight) / weight.sum()
    middles = (np.arange(SIZE_POINTS) + 0.5) / SIZE_POINTS
    return np.asarray(grid[np.searchsorted(share, middles)], dtype=np.float64)


def _stock(case: Case, demand: Floats) -> int:
    counts = [o for o in case.observations if o.kind == "count" and o.on <= case.as_of]
    last = max(counts, key=lambda o: o.on, default=None)
    since = (case.as_of - last.on).days if last else len(demand)
    used = float(demand[len(demand) - since :].sum()) if since else 0.0
    got = sum(
        e.amount for e in case.events if e.on <= case.as_of and (last is None or e.on > last.on)
    )
    return round((last.value if last else 0.0) - used + got)
