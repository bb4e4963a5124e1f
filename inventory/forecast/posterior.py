"""How much is left now, and how much is really used per unit planned?

A Kalman filter on the state x = [content, f_1..f_K, g, b, r]: usable content; a use factor for each
line; a factor for days that nobody ticked; the offset of the scale used less often; the rate of a
steady loss, 0 unless a change asks for it. Linear and
Gaussian, so every step is a closed form; it is Bayesian regression of the weighed content on the
cumulated plan.
Source: Durbin and Koopman, Time Series Analysis by State Space Methods, ch. 4 (from memory); noise
figures are assumptions of this program.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from math import log, pi, sqrt

import numpy as np

from inventory.forecast.change import MISREAD_TIMES, UNCHANGED, Change, Shift
from inventory.forecast.days import Days
from inventory.forecast.prior import ASSUMED, UNTICKED_DONE, Belief, Floats, factor_prior, of_kind
from inventory.forecast.types import Case, Observation

EYE_SD = 0.09
"""A look in quarters is +-12.5 % (sd 0.072), and the eye adds to it."""
EYE_BLIND_DAYS = 7
"""A look never counts so soon after a weighing."""
SCALE_OFFSET_SD = 0.012
RECENT_READINGS = 20
SHOCK_Z = 4.0
SHOCK_SD = 0.25
TWICE_MEAN, TWICE_VAR = 0.3, 0.21
"""A doubled tick is more often a doubled record than a doubled dose."""


@dataclass(frozen=True, slots=True)
class Reading:
    """An observation as the filter sees it: usable content of the whole case."""

    on: date
    at: int
    """Days of history elapsed at its end."""
    content: float
    variance: float
    vessel: int
    other_scale: bool


@dataclass(frozen=True, slots=True)
class Posterior:
    """State at the end of ``as_of``: mean (K+4,), covariance (K+4, K+4), and how well it was
    foretold.
    """

    mean: Floats
    cov: Floats
    walk: float
    """Sd of the drift of a factor, relative, per square root of a day."""
    day_sd: float
    """Relative sd of a day's use [1]."""
    log_evidence: float
    z: tuple[float, ...]
    """Standardised innovations of the readings in order, the first included."""
    readings: tuple[Reading, ...]

    @property
    def level(self) -> float:
        """Mean usable content, in the unit of the case."""
        return float(self.mean[0])

    @property
    def lines(self) -> int:
        """Number of plan lines K."""
        return len(self.mean) - 4

    @property
    def mean_factor(self) -> float:
        """Plain mean of the factors; 1 when nothing is planned."""
        return float(self.mean[1:-3].mean()) if self.lines else 1.0


@dataclass(frozen=True, slots=True)
class Place:
    """Where the filter stands: before reading number ``n``, ``at`` days of history elapsed."""

    state: Posterior
    seen: tuple[Reading, ...]
    n: int
    at: int
    opened: int
    """Number of the container in use."""


def usable_of(case: Case) -> float:
    """Usable content of all containers of a case when full; 1 when it has none."""
    return sum(v.nominal - v.unusable for v in case.vessels) or 1.0


def readings(case: Case) -> tuple[Reading, ...]:
    """The observations that count, in order of time. Unknown containers raise ValueError."""
    place = {v.id: k for k, v in enumerate(case.vessels)}
    usual = _usual_scale(case)
    out: list[Reading] = []
    weighed: date | None = None
    for seen in sorted(case.observations, key=lambda o: o.on):
        if seen.on > case.as_of:
            continue
        if seen.kind == "eye" and weighed and (seen.on - weighed).days <= EYE_BLIND_DAYS:
            continue
        if seen.kind == "weigh":
            weighed = seen.on
        at = (seen.on - case.history_from).days + 1
        if seen.container is not None and seen.container not in place:
            msg = f"{case.case_id}: observation of unknown container {seen.container}"
            raise ValueError(msg)
        vessel = place.get(seen.container or "", -1)
        content, variance = _content(case, seen, vessel)
        other = seen.kind == "weigh" and seen.scale != usual
        out.append(Reading(seen.on, max(0, at), content, variance, vessel, other))
    return tuple(out)


def follow(case: Case, days: Days, walk: float, belief: Belief | None = None) -> Posterior:
    """Run the filter over the whole history with one speed of drift ``walk`` [1/sqrt(day)].

    belief : what is held of its use before; None: nothing but its kind.
    """
    place = _begin(case, days, walk, belief)
    return _finish(_go_on(place, case, days, len(place.seen)), case, days, UNCHANGED)


def recent(case: Case, days: Days, walk: float, belief: Belief | None = None) -> Place:
    """Where the filter stands before the last 20 readings, to go on from with changes."""
    place = _begin(case, days, walk, belief)
    return _go_on(place, case, days, max(0, len(place.seen) - RECENT_READINGS))


def resume(place: Place, case: Case, days: Days, change: Change) -> Posterior:
    """Go on from ``place`` to the end of ``as_of`` as if ``change`` had happened."""
    mean, cov = place.state.mean.copy(), place.state.cov.copy()
    mean[-1], cov[-1, -1] = change.rate, change.rate_sd**2
    started = replace(place, state=replace(place.state, mean=mean, cov=cov))
    there = _go_on(started, case, days, len(place.seen), change)
    return _finish(there, case, days, change)


def _begin(case: Case, days: Days, walk: float, belief: Belief | None) -> Place:
    state = _start(case, days, usable_of(case), walk, belief or of_kind(case.kind))
    return Place(state, readings(case), 0, 0, 0)


def _go_on(place: Place, case: Case, days: Days, until: int, change: Change = UNCHANGED) -> Place:
    """Take in the readings up to number ``until`` (exclusive)."""
    state, at, opened = place.state, place.at, place.opened
    reopen = (SHOCK_SD * usable_of(case)) ** 2
    for n in range(place.n, until):
        reading = place.seen[n]
        shift = change.shift(n, max(0, reading.at - at))
        state = _propagate(state, case, days, at, reading.at, shift)
        at = max(at, reading.at)
        if reading.vessel > opened:
            fills = sum(v.fill_sd**2 for v in case.vessels[opened + 1 : reading.vessel + 1])
            state, opened = _widen(state, fills), reading.vessel
        if change.is_misread and n == change.at:
            reading = replace(reading, variance=reading.variance * MISREAD_TIMES)
        old = n < len(place.seen) - RECENT_READINGS
        state = _observe(state, reading, reopen if old else 0.0)
    return Place(state, place.seen, until, at, opened)


def _finish(place: Place, case: Case, days: Days, change: Change) -> Posterior:
    shift = change.shift(place.n, max(0, days.past - place.at))
    state = _propagate(place.state, case, days, place.at, days.past, shift)
    state = _widen(state, sum(v.fill_sd**2 for v in case.vessels[place.opened + 1 :]))
    return replace(state, readings=place.seen)


def _start(case: Case, days: Days, usable: float, walk: float, belief: Belief) -> Posterior:
    factors, spread = factor_prior(case.kind, days.is_feeder, belief)
    lines = len(days.lines)
    for seen in case.calibration if lines else ():
        h = np.append(np.full(lines, 1 / lines), 0.0)
        gain = spread @ h / (h @ spread @ h + seen.sd**2)
        factors = factors + gain * (seen.factor - h @ factors)
        spread = spread - np.outer(gain, h @ spread)
    mean = np.concatenate(([usable / 2], factors, [0.0, 0.0]))
    cov = np.zeros((lines + 4, lines + 4))
    cov[0, 0] = (2 * usable) ** 2
    cov[1:-2, 1:-2] = spread
    cov[-2, -2] = (SCALE_OFFSET_SD * usable) ** 2
    return Posterior(mean, cov, walk, belief.noise * ASSUMED[case.kind].day_sd, 0.0, (), ())


def _propagate(
    state: Posterior, case: Case, days: Days, start: int, end: int, shift: Shift
) -> Posterior:
    """Use and booked events of the days from ``start`` to ``end`` (elapsed days of history)."""
    if end <= start:
        return state
    done, twice = days.done[:, start:end], days.twice[:, start:end]
    unticked = days.unticked[:, start:end]
    given, open_days = done.sum(1) + TWICE_MEAN * twice.sum(1), unticked.sum()
    draw = np.zeros(len(state.mean))
    draw[0], draw[1:-3], draw[-3], draw[-1] = 1.0, -given, -open_days, -shift.loss_days
    booked = [e for e in case.events if start <= (e.on - case.history_from).days < end]
    mean, cov = state.mean.copy(), state.cov.copy()
    mean[0] = draw @ state.mean + sum(e.amount for e in booked) + shift.content
    with_content = draw @ state.cov
    cov[0, :] = cov[:, 0] = with_content
    cov[0, 0] = with_content @ draw
    f2, n = state.mean_factor**2, end - start
    drift, total = (state.walk**2) * f2 * n, float(done.sum() + open_days)
    cov[0, 0] += (
        state.day_sd**2 * f2 * float((done**2).sum())
        + UNTICKED_DONE * (1 - UNTICKED_DONE) * f2 * float((unticked**2).sum())
        + TWICE_VAR * f2 * float((twice**2).sum())
        + sum(e.sd**2 for e in booked)
        + drift * total**2 / 3
        + shift.variance
    )
    factors = np.arange(1, len(mean) - 2)
    cov[factors, factors] += drift
    return replace(state, mean=mean, cov=cov)


def _observe(state: Posterior, reading: Reading, reopen: float) -> Posterior:
    h = np.zeros(len(state.mean))
    h[0], h[-2] = 1.0, float(reading.other_scale)
    gap = reading.content - float(h @ state.mean)
    spread = max(float(h @ state.cov @ h) + reading.variance, 1e-12)
    z = gap / sqrt(spread)
    cov, s = state.cov, spread
    if reopen and abs(z) > SHOCK_Z:
        cov = cov.copy()
        cov[0, 0] += reopen
        s = spread + reopen
    gain = cov @ h / s
    evidence = state.log_evidence - (z * z + log(2 * pi * spread)) / 2
    new_cov = cov - np.outer(gain, h @ cov)
    return replace(
        state,
        mean=state.mean + gain * gap,
        cov=(new_cov + new_cov.T) / 2,
        log_evidence=evidence,
        z=(*state.z, z),
    )


def _widen(state: Posterior, variance: float) -> Posterior:
    cov = state.cov.copy()
    cov[0, 0] += variance
    return replace(state, cov=cov)


def _content(case: Case, seen: Observation, vessel: int) -> tuple[float, float]:
    """Usable content of the whole case that an observation says, and its variance."""
    if seen.container is None:
        return seen.value, seen.sd**2
    own = case.vessels[vessel]
    rest = sum(v.nominal - v.unusable for v in case.vessels[vessel + 1 :])
    if seen.kind == "eye":
        return seen.value * own.nominal - own.unusable + rest, (EYE_SD * own.nominal) ** 2
    variance = seen.sd**2 + seen.resolution**2 / 12
    return seen.value - own.unusable + rest, variance


def _usual_scale(case: Case) -> str:
    names = [o.scale for o in case.observations if o.kind == "weigh"]
    return max(sorted(set(names)), key=names.count) if names else ""
