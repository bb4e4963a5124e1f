"""By when must it be ordered, so that it comes before the stock is gone?

Lead time: logarithm of days with a normal-inverse-gamma prior worth two receipts at the stated
time, predictive Student t (Gelman et al., Bayesian Data Analysis, part 3.3, from memory). An order
of day o leaves that day (day 1 if today's cut-off is past), is ready after the lead time, and comes
on the first delivery weekday from then on that is not in a closure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray

from inventory.forecast.prior import Floats
from inventory.forecast.stocks import Bools, Ints, Suppliers
from inventory.forecast.types import HORIZON_DAYS, Case, Delivery, HarmClass, Supplier

LONGEST_LEAD_DAYS = 90
PRIOR_RECEIPTS, PRIOR_NU, PRIOR_SD = 2, 4, 0.30
RISK: dict[HarmClass, float] = {"A": 0.02, "B": 0.05, "C": 0.10, "D": 0.10}
"""Accepted chance to be out before the delivery comes (own assumption, no source)."""
SHOWN_DELIVERIES = 4


@dataclass(frozen=True, slots=True)
class LeadTime:
    """Predictive distribution of the days from order to ready: log t with nu degrees."""

    location: float
    scale: float
    degrees: int

    def at_most(self, days: Floats | float) -> Floats:
        """P(lead <= days), continuous; days > 0."""
        from scipy.special import stdtr

        z = (np.log(np.asarray(days, dtype=np.float64)) - self.location) / self.scale
        return np.asarray(stdtr(self.degrees, z), dtype=np.float64)

    def by_day(self) -> Floats:
        """P(lead = 1, 2, .. 90 days); the first takes what is below, the last what is above;
        (90,).
        """
        edges = np.arange(1, LONGEST_LEAD_DAYS) + 0.5
        below = self.at_most(edges.astype(np.float64))
        return np.diff(below, prepend=0.0, append=1.0)


def lead_time(supplier: Supplier) -> LeadTime:
    """What the stated lead time and the seen ones say together. Stated and seen days are > 0."""
    stated = log(max(supplier.stated_lead_days, 0.5))
    seen = np.log(np.maximum(np.asarray(supplier.past_lead_days, dtype=np.float64), 0.5))
    n = len(seen)
    mean = float(seen.mean()) if n else stated
    nu, weight = PRIOR_NU + n, PRIOR_RECEIPTS + n
    squares = PRIOR_NU * PRIOR_SD**2 + float(((seen - mean) ** 2).sum())
    squares += PRIOR_RECEIPTS * n / weight * (mean - stated) ** 2
    location = (PRIOR_RECEIPTS * stated + n * mean) / weight
    return LeadTime(location, sqrt(squares / nu * (1 + 1 / weight)), nu)


def arrivals(supplier: Supplier, as_of: date, days: int) -> NDArray[np.int64]:
    """First delivery day from each day 0..days on, counted from ``as_of``; ``days`` where none
    comes.
    """
    day = np.arange(days + 1)
    comes = np.isin((as_of.weekday() + day) % 7, supplier.delivery_weekdays)
    for start, end in supplier.closures:
        comes &= (day < (start - as_of).days) | (day >= (end - as_of).days)
    comes[0] = False
    first = np.minimum.accumulate(np.where(comes, day, days)[::-1])[::-1]
    return np.asarray(first, dtype=np.int64)


def risks(supplier: Supplier, as_of: date, out_by: Floats) -> Floats:
    """Chance to be out by the end of the delivery of an order placed on day 0, 1, ..

    out_by : (n,) chance to be out by the end of day 0..n-1. Returns (n - 90,).
    """
    last = len(out_by) - 1
    arrival, lead = arrivals(supplier, as_of, last), lead_time(supplier).by_day()
    days = np.arange(len(out_by) - LONGEST_LEAD_DAYS)
    days[0] = int(supplier.past_cut_off_today)
    ready = np.minimum(days[:, None] + np.arange(1, LONGEST_LEAD_DAYS + 1)[None, :], last)
    return np.asarray(out_by[arrival[ready]] @ lead, dtype=np.float64)


def order_by(risk: Floats, harm: HarmClass, horizon: int) -> int:
    """The latest day whose order comes in time at the accepted risk; 0 = now, even if that is
    late.
    """
    within = np.flatnonzero(risk[: horizon + 1] <= RISK[harm])
    return int(within[-1]) if len(within) else 0


def suppliers_of(cases: Sequence[Case], days: int) -> tuple[Suppliers, Ints]:
    """Ways of delivery of the cases, each once, for ``days`` days ahead; and the number of each
    case's, -1 for a case without one.
    """
    known: dict[tuple[Supplier, date], int] = {}
    of_case = np.full(len(cases), -1, dtype=np.int64)
    for n, case in enumerate(cases):
        if case.supplier is not None and case.supplier.delivery_weekdays:
            of_case[n] = known.setdefault((case.supplier, case.as_of), len(known))
    ways = list(known)
    return Suppliers(
        arrival=np.array([arrivals(s, on, days) for s, on in ways], dtype=np.int64).reshape(
            len(ways), days + 1
        ),
        lead=np.array([lead_time(s).by_day() for s, _ in ways]).reshape(
            len(ways), LONGEST_LEAD_DAYS
        ),
        past_cut_off=np.array([s.past_cut_off_today for s, _ in ways], dtype=np.int64),
    ), of_case


def latest(
    suppliers: Suppliers, of: Ints, out_by: Floats, accepted: Floats
) -> tuple[Ints, Floats, Bools]:
    """The latest day whose order comes in time at the accepted risk, 0 to 400, of N stocks.

    of : (N,) numbers of ways of delivery; out_by : (N, T+1); accepted : (N,).
    Returns days (N,), their risk (N,), and whether no day beyond T had a say. The risk of an order
    never falls with its day, so the last good day is found by halving.
    """
    last = out_by.shape[1] - 1
    good, bad = np.zeros(len(of), dtype=np.int64), np.full(len(of), HORIZON_DAYS + 1)
    while (bad - good > 1).any():
        middle = (good + bad) // 2
        fits = _risk(suppliers, of, out_by, middle)[0] <= accepted
        good, bad = np.where(fits, middle, good), np.where(fits, bad, middle)
    risk, _ = _risk(suppliers, of, out_by, good)
    _, arrival = _risk(suppliers, of, out_by, np.minimum(good + 1, HORIZON_DAYS))
    is_exact = (arrival <= last) | (last == suppliers.arrival.shape[1] - 1)
    return good, risk, np.asarray(is_exact, dtype=np.bool_)


def _risk(suppliers: Suppliers, of: Ints, out_by: Floats, day: Ints) -> tuple[Floats, Ints]:
    """Risk of an order of one day for each stock, and the day on which it comes at the latest."""
    sent = np.where(day == 0, suppliers.past_cut_off[of], day)
    last = suppliers.arrival.shape[1] - 1
    ready = np.minimum(sent[:, None] + np.arange(1, LONGEST_LEAD_DAYS + 1), last)
    arrival = suppliers.arrival[of[:, None], ready]
    out = np.take_along_axis(out_by, np.minimum(arrival, out_by.shape[1] - 1), axis=1)
    return np.einsum("nd,nd->n", out, suppliers.lead[of]), arrival[:, -1]


def next_deliveries(supplier: Supplier, as_of: date, out_by: Floats) -> tuple[Delivery, ...]:
    """The next four deliveries that an order of today likely reaches, each with the chance to be
    out by its end. Likely: from the median lead time on.
    """
    out: list[Delivery] = []
    day = max(1, int(supplier.past_cut_off_today) + round(exp(lead_time(supplier).location)))
    while day < len(out_by) and len(out) < SHOWN_DELIVERIES:
        if _delivers(supplier, as_of + timedelta(days=day)):
            out.append(Delivery(day, float(out_by[day])))
        day += 1
    return tuple(out)


def _delivers(supplier: Supplier, day: date) -> bool:
    if day.weekday() not in supplier.delivery_weekdays:
        return False
    return not any(start <= day < end for start, end in supplier.closures)
