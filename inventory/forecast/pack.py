"""Cases turned into arrays: stocks of the same number of lines stand together.

The only step of the engine that reads a case one by one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.forecast.answers import Given, given
from inventory.forecast.days import AHEAD_DAYS, Days, lay_out
from inventory.forecast.delivery import RISK, suppliers_of
from inventory.forecast.prior import Floats
from inventory.forecast.readings import Reading, readings, usable_of
from inventory.forecast.stocks import ALONE, KINDS, Booked, Bools, Stocks, Suppliers
from inventory.forecast.types import Case

Key = tuple[str, str]
BROUGHT = 9
"""Numbers that a stock brings of its sisters; see :attr:`Stocks.brought`."""


@dataclass(frozen=True, slots=True)
class Laid:
    """A case laid out: its days, its readings, and what was found out about them."""

    case: Case
    days: Days
    seen: tuple[Reading, ...]
    given: Given

    @property
    def usable(self) -> float:
        """Usable content of all containers when full."""
        return usable_of(self.case)


@dataclass(frozen=True, slots=True)
class Packed:
    """Stocks of one number of lines, with the cases they were made from, in the same order."""

    laid: tuple[Laid, ...]
    stocks: Stocks
    suppliers: Suppliers


def known_as(case: Case) -> Key:
    """One stock may be asked for alone and as a place of a pool; it teaches once."""
    return case.group, case.case_id


def pack(cases: Sequence[Case], *, sisters: bool = True) -> list[Packed]:
    """Every case once, by number of lines; within, by group and name, whatever the order given.

    Raises ValueError naming the case when it contradicts itself.
    """
    unique = {known_as(case): case for case in cases}
    groups: dict[tuple[str, str], int] = {}
    by_lines: dict[int, list[Laid]] = {}
    for key in sorted(unique):
        laid = _lay(unique[key])
        by_lines.setdefault(len(laid.days.lines), []).append(laid)
        if unique[key].group and sisters and unique[key].sisters is None:
            groups.setdefault((unique[key].group, unique[key].kind), len(groups))
    return [_pack(laid, groups) for _, laid in sorted(by_lines.items())]


def _lay(case: Case) -> Laid:
    days, seen = lay_out(case), readings(case)
    return Laid(case, days, seen, given(case, days, seen))


def _pack(laid: list[Laid], groups: dict[tuple[str, str], int]) -> Packed:
    cases, days = [one.case for one in laid], [one.days for one in laid]
    history = max(d.past for d in days)
    slots = max(1, *(len(one.seen) for one in laid))
    suppliers, of_case = suppliers_of(cases, AHEAD_DAYS)
    seen = _seen(laid, history, slots)
    fill, quiet, loss_days = _beside(laid, slots)
    stocks = Stocks(
        kind=np.array([KINDS.index(c.kind) for c in cases], dtype=np.int64),
        group=np.array([groups.get((c.group, c.kind), ALONE) for c in cases], dtype=np.int64),
        ticked=np.array([c.ticked for c in cases], dtype=np.bool_),
        usable=np.array([usable_of(c) for c in cases], dtype=np.float64),
        past=np.array([d.past for d in days], dtype=np.int64),
        is_feeder=np.stack([d.is_feeder for d in days]),
        done=_in_front([d.done for d in days], history),
        twice=_in_front([d.twice for d in days], history),
        unticked=_in_front([d.unticked for d in days], history),
        hand=np.stack([d.ahead_hand for d in days]),
        sure=np.stack([d.ahead_sure for d in days]),
        counts=np.array([d.counts for d in days], dtype=np.float64).reshape(-1, 3),
        seen_at=seen[0].astype(np.int64),
        is_seen=seen[1] > 0,
        content=seen[2],
        variance=seen[3],
        other_scale=seen[4],
        fill=fill,
        booked=_booked(laid, history),
        coming=_coming(cases),
        calibrated=_calibrated(cases),
        supplier=of_case,
        risk=np.array([RISK[c.harm] for c in cases], dtype=np.float64),
        quiet=quiet,
        rate=np.array([one.given.rate for one in laid], dtype=np.float64).reshape(-1, 2),
        loss_days=loss_days,
        runs_on=np.array([one.given.runs_on for one in laid], dtype=np.bool_),
        brings=np.array([c.sisters is not None for c in cases], dtype=np.bool_),
        brought=np.array([_brought(c) for c in cases], dtype=np.float64).reshape(-1, BROUGHT),
    )
    return Packed(tuple(laid), stocks, suppliers)


def _brought(case: Case) -> tuple[float, ...]:
    told = case.sisters
    if told is None:
        return (0.0,) * BROUGHT
    learned = (told.drift, told.trend, told.alike)
    rest = (np.nan if one is None else one for one in learned)
    return (told.mean, told.variance, told.noise, *told.counts, *rest)


def _in_front(arrays: list[Floats], width: int) -> Floats:
    """(K, H) each into (N, K, width), the last columns kept together."""
    out = np.zeros((len(arrays), arrays[0].shape[0], width))
    for n, one in enumerate(arrays):
        out[n, :, width - one.shape[1] :] = one
    return out


def _seen(laid: list[Laid], history: int, slots: int) -> Floats:
    """(5, N, R): column, 1 if there is one, content, variance, 1 for the other scale."""
    out = np.zeros((5, len(laid), slots))
    for n, one in enumerate(laid):
        front, before = slots - len(one.seen), history - one.days.past
        out[0, n, :front] = before
        if one.seen:
            rows = [(r.at, 1.0, r.content, r.variance, float(r.other_scale)) for r in one.seen]
            out[:, n, front:] = np.array(rows).T
            out[0, n, front:] = np.minimum(out[0, n, front:], one.days.past) + before
        for k, times in one.given.misread.items():
            out[3, n, front + k] *= times
    return out


def _beside(laid: list[Laid], slots: int) -> tuple[Floats, Bools, Floats]:
    """Variance of containers opened (N, R+1), quiet intervals (N, R), days of a given loss."""
    fill, loss = np.zeros((len(laid), slots + 1)), np.zeros((len(laid), slots + 1))
    quiet = np.zeros((len(laid), slots), dtype=np.bool_)
    for n, one in enumerate(laid):
        front, opened = slots - len(one.seen), 0
        fills = [v.fill_sd**2 for v in one.case.vessels]
        for k, r in enumerate(one.seen if len(fills) > 1 else (), start=front):
            if r.vessel > opened:
                fill[n, k] = sum(fills[opened + 1 : r.vessel + 1])
                opened = r.vessel
        fill[n, slots] = sum(fills[opened + 1 :])
        for k in one.given.quiet:
            quiet[n, front + k] = True
        for k, length in enumerate(one.given.loss_days, start=front):
            loss[n, k] = length
    return fill, quiet, loss


def _booked(laid: list[Laid], history: int) -> Booked:
    rows = [
        (n, at + history - one.days.past, amount, variance, is_receipt)
        for n, one in enumerate(laid)
        for at, amount, variance, is_receipt in one.given.booked
        if at >= 0
    ]
    return _columns(rows)


def _coming(cases: list[Case]) -> Booked:
    rows = [
        (n, (e.on - case.as_of).days, e.amount, e.sd**2, False)
        for n, case in enumerate(cases)
        for e in case.events
        if e.kind != "receipt" and 1 <= (e.on - case.as_of).days <= AHEAD_DAYS
    ]
    return _columns(rows)


def _calibrated(cases: list[Case]) -> Booked:
    return _columns(
        [(n, 0, c.factor, c.sd**2, False) for n, case in enumerate(cases) for c in case.calibration]
    )


def _columns(rows: Sequence[tuple[int, int, float, float, bool]]) -> Booked:
    return Booked(
        stock=np.array([r[0] for r in rows], dtype=np.int64),
        at=np.array([r[1] for r in rows], dtype=np.int64),
        amount=np.array([r[2] for r in rows], dtype=np.float64),
        variance=np.array([r[3] for r in rows], dtype=np.float64),
        is_receipt=np.array([r[4] for r in rows], dtype=np.bool_),
    )
