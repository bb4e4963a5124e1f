"""What do changes of water do to what is dissolved in it?

Each cycle doses, uses and tops up first, then a part of the water is changed. Evaporation takes
water and leaves what is dissolved.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, exp, isclose, log

import numpy as np

from gallery_ops.kernel.values.limits import Limit, OutOfRange
from tanks.science.numbers import Array, not_negative, within

CYCLES = Limit(0, 10_000)
UNIT = "mg/L"
NEAR = 1e-9


@dataclass(frozen=True, slots=True)
class Cycle:
    """What happens between one change and the next, all as concentrations [mg/L].

    change : part of the water that is changed, more than 0 to 1
    source : in the new water
    dose, uptake : what the doses of a cycle add, what grows out of it
    evaporated : part of the water that evaporates in a cycle, 0 to less than 1
    topup : in the water that replaces it
    """

    change: float
    source: float = 0.0
    dose: float = 0.0
    uptake: float = 0.0
    evaporated: float = 0.0
    topup: float = 0.0

    def __post_init__(self) -> None:
        _part("Part changed", self.change)
        _evaporated(self.evaporated)
        for name in ("source", "dose", "uptake", "topup"):
            not_negative(name.capitalize(), UNIT, getattr(self, name))

    @property
    def added(self) -> float:
        """What a cycle adds before its change; below 0 when more is used than comes [mg/L]."""
        return self.dose - self.uptake + self.topup * self.evaporated


def after_changes(start: float, cycle: Cycle, cycles: int) -> Array:
    """Concentration after each change, the start first: ``cycles`` + 1 values [mg/L].

    What is used up stays at 0: plants take no more than is there.

    Source: mass balance, A' = (1 - r)(A + X) + r S.

    >>> after_changes(0, Cycle(0.5, dose=10), 3).tolist()
    [0.0, 5.0, 7.5, 8.75]
    """
    not_negative("Start", UNIT, start)
    within("Changes", CYCLES, cycles)
    out = np.empty(int(cycles) + 1)
    out[0] = now = start
    for n in range(1, out.size):
        before = max(0.0, now + cycle.added)
        now = (1 - cycle.change) * before + cycle.change * cycle.source
        out[n] = now
    return out


def runs_empty(start: float, cycle: Cycle, cycles: int) -> bool:
    """Would more be used than is there within so many cycles?"""
    return bool(np.any(after_changes(start, cycle, cycles)[:-1] + cycle.added < 0))


def steady_after_change(cycle: Cycle) -> float:
    """Where it settles, just after a change [mg/L].

    Source: the fixed point, S + (1 - r) X / r; 0 where more is used than comes.

    >>> steady_after_change(Cycle(0.5, dose=10))
    10.0
    """
    return (1 - cycle.change) * steady_before_change(cycle) + cycle.change * cycle.source


def steady_before_change(cycle: Cycle) -> float:
    """Where it settles, just before a change, the most that it reaches [mg/L].

    Source: S + X / r. With half the water changed and no uptake: twice the doses of a cycle.

    >>> steady_before_change(Cycle(0.5, dose=10))
    20.0
    """
    return max(0.0, cycle.source + cycle.added / cycle.change)


def after_one_change(start: float, source: float, change: float) -> float:
    """Concentration after a single change [mg/L].

    >>> after_one_change(40, 0, 0.25)
    30.0
    """
    not_negative("Start", UNIT, start)
    not_negative("Source", UNIT, source)
    _part("Part changed", change)
    return start + (source - start) * change


def part_for_target(start: float, target: float, source: float = 0.0, changes: int = 1) -> float:
    """Part of the water to change, each of ``changes`` times, to reach a target, 0 to 1.

    Source: 1 - ((Ct - S) / (C0 - S))^(1/n).

    >>> part_for_target(40, 20)
    0.5
    """
    left = _left(start, target, source)
    within("Changes", Limit(1, 1_000), changes)
    return float(1 - left ** (1 / changes))


def changes_for_target(start: float, target: float, change: float, source: float = 0.0) -> int:
    """How many changes of this part reach a target.

    Source: ceil(ln((Ct - S) / (C0 - S)) / ln(1 - r)).

    >>> changes_for_target(40, 20, 0.2)
    4
    """
    _part("Part changed", change)
    left = _left(start, target, source)
    if left == 1:
        return 0
    if change == 1 or left == 0:
        if change < 1:
            raise OutOfRange(
                "Target", "between source and now", f"{target:g} {UNIT}", "Never quite reached."
            )
        return 1
    return ceil(log(left) / log(1 - change) - NEAR)


def after_drip(start: float, source: float, dripped: float) -> float:
    """Concentration when new water drips in and as much runs out, well mixed [mg/L].

    dripped : litres that came in, over the litres in the tank; 0 or more

    Source: S + (C0 - S) exp(-Q / V).

    >>> round(after_drip(40, 0, 0.5), 1)
    24.3
    """
    not_negative("Start", UNIT, start)
    not_negative("Source", UNIT, source)
    not_negative("Volumes dripped", "", dripped)
    return source + (start - source) * exp(-dripped)


def after_evaporation(start: float, evaporated: float) -> float:
    """Concentration when a part of the water has gone and what was in it has not [mg/L].

    >>> round(after_evaporation(20, 0.1), 1)
    22.2
    """
    not_negative("Start", UNIT, start)
    _evaporated(evaporated)
    return start / (1 - evaporated)


def after_topup(start: float, evaporated: float, topup: float = 0.0) -> float:
    """Concentration when what evaporated was filled up again [mg/L]; pure water restores it."""
    not_negative("Start", UNIT, start)
    not_negative("Top-up", UNIT, topup)
    _evaporated(evaporated)
    return start + topup * evaporated


def _part(field: str, part: float) -> None:
    within(field, Limit(0, 1), part)
    if part == 0:
        raise OutOfRange(field, "more than 0, up to 1", "0", "Say how much is changed.")


def _evaporated(part: float) -> None:
    within("Part evaporated", Limit(0, 1), part)
    if part == 1:
        raise OutOfRange("Part evaporated", "0 to less than 1", "1")


def _left(start: float, target: float, source: float) -> float:
    """Which part of the distance to the source is left at the target, 0 to 1."""
    for name, value in (("Start", start), ("Target", target), ("Source", source)):
        not_negative(name, UNIT, value)
    if isclose(start, source):
        if isclose(start, target):
            return 1.0
        raise OutOfRange(
            "New water",
            f"other than {start:g} {UNIT}",
            f"{source:g} {UNIT}",
            "It is as the water in the tank: changing does not help.",
        )
    low, high = sorted((start, source))
    if not low <= target <= high:
        raise OutOfRange(
            "Target",
            f"{low:g} to {high:g} {UNIT}, between the new water and now",
            f"{target:g} {UNIT}",
            "Another source, or a dose, gets there.",
        )
    return (target - source) / (start - source)
