"""Is something wrong, and what? A bank of hypotheses, opened when readings miss.

Each hypothesis is the same filter with one change, gone through again from before the last 20
readings; its weight is its prior weight times how well it explains the readings. Opened by a CUSUM
of the innovations, so that a healthy stock costs nothing.
Source: Harrison and Stevens 1976, JRSS B 38 (mixtures for interventions); Page 1954, Biometrika 41
(CUSUM); both from memory. Prior weights are assumptions of this program.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import exp, log

from inventory.forecast.change import UNCHANGED, Change
from inventory.forecast.days import Days
from inventory.forecast.posterior import (
    RECENT_READINGS,
    Posterior,
    Reading,
    follow,
    recent,
    resume,
    usable_of,
)
from inventory.forecast.prior import UNTICKED_DONE, Belief
from inventory.forecast.types import Alarm, Case, Options

CUSUM_SLACK = 0.5
OPEN_CUSUM, OPEN_Z = 3.0, 2.5
ONE_OFF_Z = 1.3
EACH_OF_LAST = 10
USE_DAYS = 30
LONG_LASTING_DAYS = 400
ALARM_SHARE = 0.5
LEAST_SHARE = 1e-6


@dataclass(frozen=True, slots=True)
class Held:
    """A hypothesis, its share after the readings, and the state it leads to."""

    change: Change
    share: float
    state: Posterior


def cusum(z: Sequence[float], slack: float = CUSUM_SLACK) -> tuple[float, ...]:
    """Running one-sided sums max(0, S - z - slack): high when content falls too fast."""
    out, run = [], 0.0
    for value in z:
        run = max(0.0, run - value - slack)
        out.append(run)
    return tuple(out)


def is_open(z: Sequence[float]) -> bool:
    """Do the last 20 readings miss enough to look closer? The first reading foretells nothing."""
    foretold = z[1:]
    mirrored = [-value for value in foretold]
    sums = [max(s) for s in zip(cusum(foretold), cusum(mirrored), strict=True)]
    lately = slice(-RECENT_READINGS, None)
    return any(s > OPEN_CUSUM for s in sums[lately]) or any(
        abs(value) > OPEN_Z for value in foretold[lately]
    )


def held(case: Case, days: Days, belief: Belief, options: Options) -> tuple[Held, ...]:
    """What may have happened to one stock, with every speed of drift; shares sum to 1."""
    states = [(prior, follow(case, days, walk, belief)) for walk, prior in options.walks]
    tried = [(prior, UNCHANGED, state) for prior, state in states]
    _, likely = max(states, key=lambda one: log(one[0]) + one[1].log_evidence)
    if options.bank and is_open(likely.z):
        for prior, state in states:
            place = recent(case, days, state.walk, belief)
            tried += [
                (prior, change, resume(place, case, days, change))
                for change in changes(case, days, state)
            ]
    logs = [log(p * change.weight) + found.log_evidence for p, change, found in tried]
    top = max(logs)
    weights = [exp(value - top) for value in logs]
    kept = [
        (weight, change, state)
        for weight, (_, change, state) in zip(weights, tried, strict=True)
        if weight > LEAST_SHARE or change is UNCHANGED
    ]
    total = sum(weight for weight, _, _ in kept)
    return tuple(Held(change, weight / total, state) for weight, change, state in kept)


def alarm(found: Sequence[Held]) -> Alarm:
    """A loss is told when both kinds together are more likely than all else."""
    steady, sudden = (
        sum(one.share for one in found if one.change.name == name)
        for name in ("steady_loss", "sudden_loss")
    )
    if steady + sudden <= ALARM_SHARE:
        return "none"
    return "steady_loss" if steady >= sudden else "sudden_loss"


def changes(case: Case, days: Days, state: Posterior) -> Iterator[Change]:
    """All that may have happened within the last 20 readings, with its weight beforehand."""
    seen = state.readings
    last, first = len(seen) - 1, max(1, len(seen) - RECENT_READINGS)
    use = _recent_use(case, days, state)
    for at in range(first, len(seen)):
        length = seen[at].at - max(0, seen[at - 1].at)
        if length <= 0:
            continue
        each = last - at < EACH_OF_LAST
        if each or (last - at - EACH_OF_LAST) % 2 == 0:
            weight = length / 1500 * (1 if each else 2)
            yield Change("steady_loss", at, weight, rate=0.9 * use, rate_sd=0.5 * use)
        yield from _booked_late(case, seen, at)
        if abs(state.z[at]) > ONE_OFF_Z:
            yield from _one_off(usable_of(case), at, length)
    if len(seen) <= RECENT_READINGS and len(seen) > 1:
        yield Change("wrong_reading", 0, 1 / 200, is_misread=True)


def _one_off(usable: float, at: int, length: int) -> Iterator[Change]:
    quarter, third = 0.25 * usable, 0.35 * usable
    yield Change("sudden_loss", at, length / 1500, content=-quarter, variance=quarter**2)
    yield Change("wrong_reading", at, 1 / 200, is_misread=True)
    yield Change("unbooked_gain", at, length / 3000, content=third, variance=third**2)


def _booked_late(case: Case, seen: tuple[Reading, ...], at: int) -> Iterator[Change]:
    if at + 1 >= len(seen):
        return
    start, end = seen[at].at, seen[at + 1].at
    for event in case.events:
        if event.kind == "receipt" and start <= (event.on - case.history_from).days < end:
            yield Change("booked_late", at, 0.03, late=event.amount, late_variance=event.sd**2)


def _recent_use(case: Case, days: Days, state: Posterior) -> float:
    """Use a day lately; where nothing was planned, as of a stock that lasts for long."""
    lately = slice(-USE_DAYS, None)
    given = days.done[:, lately].sum() + UNTICKED_DONE * days.unticked[:, lately].sum()
    a_day = float(given) / max(1, min(USE_DAYS, days.past)) * state.mean_factor
    return max(a_day, usable_of(case) / LONG_LASTING_DAYS)
