"""The same method a second time: one stock after another, small matrices, nothing shared but the
layout of a case by days and its readings. Slow, and read beside the formulas; the arrays of the
program must agree with it.

Hypotheses are told here as shifts of mean and variance; the program carries their size as one more
state. The two are the same by arithmetic, not by code.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log, pi, sqrt
from statistics import NormalDist

import numpy as np

from inventory.forecast.days import Days, lay_out
from inventory.forecast.prior import ASSUMED, FEEDER_LINE_SD
from inventory.forecast.readings import readings, usable_of
from inventory.forecast.types import LEVELS, Case

WALKS = ((0.002, 0.90), (0.016, 0.10))
TREND_SD, TREND_WEIGHT, FADE_DAYS = 0.0015, 0.10, 300
RECENT = 20
PHI = NormalDist().cdf


@dataclass(frozen=True)
class Shift:
    """A hypothesis about the interval before reading ``at``."""

    name: str = "none"
    at: int = -1
    weight: float = 1.0
    content: float = 0.0
    variance: float = 0.0
    late: float = 0.0
    late_var: float = 0.0
    use: float = 0.0
    trend: bool = False


@dataclass
class Plain:
    """Where the filter stands."""

    x: np.ndarray
    p: np.ndarray
    walk: float
    logev: float
    z: list[float]


def begin(case: Case, days: Days, walk: float) -> Plain:
    k, c, a = len(days.lines), usable_of(case), ASSUMED[case.kind]
    s2 = a.own_sd**2 + a.between_sd**2
    x = np.zeros(k + 4)
    p = np.zeros((k + 4, k + 4))
    x[0], p[0, 0] = c / 2, (2 * c) ** 2
    p[1 : k + 1, 1 : k + 1] = s2
    for i in range(k):
        own = a.line_sd if k > 1 else 0.0
        x[1 + i] = 1.0
        p[1 + i, 1 + i] += (FEEDER_LINE_SD if days.is_feeder[i] else own) ** 2
        p[1 + i, k + 1] = p[k + 1, 1 + i] = 0.8 * s2
    x[k + 1], p[k + 1, k + 1] = 0.8, 0.64 * s2 + 0.15**2
    for seen in case.calibration if k else ():
        h = np.array([0.0, *[1 / k] * k, 0.0, 0.0, 0.0])
        gain = p @ h / (h @ p @ h + seen.sd**2)
        x, p = x + gain * (seen.factor - h @ x), p - np.outer(gain, h @ p)
    p[k + 2, k + 2] = (0.012 * c) ** 2
    return Plain(x, p, walk, 0.0, [])


def take(case: Case, days: Days, walk: float, shift: Shift | None = None) -> Plain:
    """All readings, and on to the end of ``as_of``; replay of one hypothesis when given."""
    shift = shift or Shift()
    s, seen, at, opened = begin(case, days, walk), readings(case), 0, 0
    first_recent = len(seen) - RECENT
    if shift.trend:
        k = len(days.lines)
        s.p[-1, -1] = (TREND_SD * (float(s.x[1 : k + 1].mean()) if k else 1.0)) ** 2
    for n, r in enumerate(seen):
        if n == max(0, first_recent) and shift.use:
            s.x[-1], s.p[-1, -1] = 0.9 * shift.use, (0.5 * shift.use) ** 2
        until = max(at, r.at)
        propagate(s, case, days, at, until, shift, n)
        at = until
        for v in case.vessels[opened + 1 : r.vessel + 1]:
            s.p[0, 0] += v.fill_sd**2
        opened = max(opened, r.vessel)
        wrong = shift.name == "wrong_reading" and n == shift.at
        observe(s, r.content, r.variance * (400 if wrong else 1), r.other_scale,
                (0.25 * usable_of(case)) ** 2 if n < first_recent else 0.0)  # fmt: skip
    propagate(s, case, days, at, days.past, shift, len(seen))
    for v in case.vessels[opened + 1 :]:
        s.p[0, 0] += v.fill_sd**2
    return s


def propagate(s: Plain, case: Case, days: Days, lo: int, hi: int, shift: Shift, n: int) -> None:
    if hi <= lo:
        return
    k, length = len(s.x) - 4, hi - lo
    part = slice(lo, hi)
    done, twice, open_ = days.done[:, part], days.twice[:, part], days.unticked[:, part]
    a = np.eye(k + 4)
    a[0, 1 : k + 1] = -(done.sum(1) + 0.3 * twice.sum(1))
    a[0, k + 1] = -open_.sum()
    if shift.use and n >= shift.at:
        a[0, k + 3] = -(length / 2 if n == shift.at else length)
    if shift.trend:
        before = days.past - np.arange(lo, hi) - 0.5
        a[0, k + 3] = float((done.sum(0) + 0.8 * open_.sum(0)) @ before)
    f2 = float(s.x[1 : k + 1].mean()) ** 2 if k else 1.0
    s.x, s.p = a @ s.x, a @ s.p @ a.T
    for e in case.events:
        if lo <= (e.on - case.history_from).days < hi:
            s.x[0] += e.amount
            s.p[0, 0] += e.sd**2
    w2, total = s.walk**2 * f2, float(done.sum() + open_.sum())
    c = ASSUMED[case.kind].day_sd
    s.p[0, 0] += f2 * (c**2 * (done**2).sum() + 0.16 * (open_**2).sum() + 0.21 * (twice**2).sum())
    s.p[0, 0] += w2 * length * total**2 / 3
    s.p[range(1, k + 2), range(1, k + 2)] += w2 * length
    if n == shift.at:
        s.x[0] += shift.content + shift.late
        s.p[0, 0] += shift.variance + shift.late_var + (0.29 * length * 0.8 * shift.use) ** 2
    if n == shift.at + 1:
        s.x[0] -= shift.late
        s.p[0, 0] -= shift.late_var


def observe(s: Plain, y: float, r: float, other: bool, reopen: float) -> None:
    h = np.zeros(len(s.x))
    h[0], h[-2] = 1.0, float(other)
    gap, spread = y - h @ s.x, max(float(h @ s.p @ h) + r, 1e-12)
    z = gap / sqrt(spread)
    s.z.append(z)
    s.logev -= (z * z + log(2 * pi * spread)) / 2
    if reopen and abs(z) > 4:
        s.p[0, 0] += reopen
        spread += reopen
    gain = s.p @ h / spread
    s.x, s.p = s.x + gain * gap, s.p - np.outer(gain, h @ s.p)


def shifts(case: Case, days: Days, s: Plain) -> list[Shift]:
    """All that may have happened within the last 20 readings."""
    seen, c, k = readings(case), usable_of(case), len(days.lines)
    lately = slice(-30, None)
    given = days.done[:, lately].sum() + 0.8 * days.unticked[:, lately].sum()
    factor = float(s.x[1 : k + 1].mean()) if k else 1.0
    use = max(float(given) / max(1, min(30, days.past)) * factor, c / 400)
    leak = 1 / 500 if case.kind == "cylinder" else 1 / 1500
    out, last = [], len(seen) - 1
    for j in range(max(1, len(seen) - RECENT), len(seen)):
        n = seen[j].at - seen[j - 1].at
        if n <= 0:
            continue
        each = last - j < 10
        if each or (last - j - 10) % 2 == 0:
            out.append(Shift("steady_loss", j, n * leak * (1 if each else 2), use=use))
        if j < last:
            late = [e for e in case.events if e.kind == "receipt"
                    and seen[j].at <= (e.on - case.history_from).days < seen[j + 1].at]  # fmt: skip
            out += [Shift("booked_late", j, 0.03, late=e.amount, late_var=e.sd**2) for e in late]
        if abs(s.z[j]) > 1.3:
            out.append(Shift("sudden_loss", j, n / 1500, -0.25 * c, (0.25 * c) ** 2))
            out.append(Shift("wrong_reading", j, 1 / 200))
            out.append(Shift("unbooked_gain", j, n / 3000, 0.35 * c, (0.35 * c) ** 2))
    if 1 < len(seen) <= RECENT:
        out.append(Shift("wrong_reading", 0, 1 / 200))
    return out


def is_open(z: list[float]) -> bool:
    up = down = 0.0
    opened = False
    for n, value in enumerate(z[1:], start=1):
        up, down = max(0.0, up - value - 0.5), max(0.0, down + value - 0.5)
        if n >= len(z) - RECENT and (max(up, down) > 3 or abs(value) > 2.5):
            opened = True
    return opened


def held(case: Case) -> tuple[Days, list[tuple[float, Shift, Plain]]]:
    """(share, hypothesis, state); without sisters."""
    days = lay_out(case)
    base = [((1 - TREND_WEIGHT) * weight, take(case, days, walk)) for walk, weight in WALKS]
    tried = [(weight, Shift(), s) for weight, s in base]
    steady = Shift(trend=True)
    tried.append((TREND_WEIGHT, steady, take(case, days, WALKS[0][0], steady)))
    likely = max(base, key=lambda one: log(one[0]) + one[1].logev)[1]
    if is_open(likely.z):
        for weight, s in base:
            tried += [(weight, h, take(case, days, s.walk, h)) for h in shifts(case, days, s)]
    logs = [log(weight * h.weight) + s.logev for weight, h, s in tried]
    top = max(logs)
    kept = [
        (np.exp(one - top), h, s)
        for one, (_, h, s) in zip(logs, tried, strict=True)
        if one - top > log(1e-4) or h.name == "none"
    ]
    total = sum(weight for weight, _, _ in kept)
    return days, [(float(weight / total), h, s) for weight, h, s in kept]


def quantiles(case: Case) -> tuple[list[float], dict[str, float]]:
    """Days at the nineteen levels, and the share of each name."""
    days, every = held(case)
    out = np.zeros(401)
    names: dict[str, float] = {}
    for share, h, s in every:
        names[h.name] = names.get(h.name, 0.0) + share
        chance, most = [], 0.0
        for t in range(401):
            most = max(most, _out(case, days, h, s, t))
            chance.append(most)
        out += share * np.array(chance)
    return [_reached(out, level) for level in LEVELS], names


def _out(case: Case, days: Days, h: Shift, s: Plain, t: int) -> float:
    hand, sure, shares = days.ahead_hand[:, :t], days.ahead_sure[:, :t], days.shares
    k = len(days.lines)
    row = np.array([1.0, *-(shares.done * hand.sum(1) + sure.sum(1)),
                    -shares.unticked * hand.sum(), 0.0, -float(t) if h.use else 0.0])  # fmt: skip
    f2 = float(s.x[1 : k + 1].mean()) ** 2 if k else 1.0
    if h.trend:
        given = (shares.done + 0.8 * shares.unticked) * hand.sum(0) + sure.sum(0)
        row[-1] = -sum(
            u * FADE_DAYS * (1 - exp(-(n + 0.5) / FADE_DAYS)) for n, u in enumerate(given)
        )
    eff, total = shares.done + 0.8 * shares.unticked, hand.sum() + sure.sum()
    c = ASSUMED[case.kind].day_sd
    variance = row @ s.p @ row + f2 * (
        c**2 * ((hand**2).sum() + (sure**2).sum())
        + eff * (1 - eff) * (hand**2).sum()
        + s.walk**2 * total**2 * t / 3
        + shares.variance * hand.sum() ** 2
    )
    mean = row @ s.x
    for e in case.events:
        if e.kind != "receipt" and 1 <= (e.on - case.as_of).days <= t:
            mean, variance = mean + e.amount, variance + e.sd**2
    return PHI(-mean / sqrt(max(variance, 1e-18)))


def _reached(out: np.ndarray, level: float) -> float:
    for t in range(401):
        if out[t] >= level:
            return 0.0 if t == 0 else t - 1 + (level - out[t - 1]) / (out[t] - out[t - 1])
    return 400.0


def without_group(case: Case) -> Case:
    return replace(case, group="")
