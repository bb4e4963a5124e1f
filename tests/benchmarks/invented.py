"""Invented stocks in numbers, for the speed of the forecast: cases, and nothing read from disk."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from inventory.forecast.types import Case, Observation, PlanSegment, Supplier, Vessel

AS_OF = date(2026, 3, 11)
HISTORY_DAYS, WEIGHINGS = 400, 58
SISTERS = 10
TWO_LINES_OF = 4
"""Every so many-th group has two lines."""


def stocks(n: int, seed: int = 5) -> list[Case]:
    """``n`` bottles with 400 days of history, weighed weekly, in groups of ten sisters.

    One in forty leaks lately, one in forty lost something at once; some days are skipped or
    unticked; run-outs lie between a week and beyond the horizon.
    """
    rng = np.random.default_rng(seed)
    return [_one(rng, k) for k in range(n)]


def _one(rng: np.random.Generator, k: int) -> Case:
    group = k // SISTERS
    lines = ["T1", "T2"] if group % TWO_LINES_OF == 0 else ["T1"]
    per_day = [float(rng.choice([2, 3, 6, 9])) for _ in lines]
    factor = float(np.exp(np.random.default_rng(group).normal(0, 0.14) + rng.normal(0, 0.1)))
    marks = rng.choice(list("dsm"), (len(lines), HISTORY_DAYS), p=[0.94, 0.035, 0.025])
    given = np.where(marks == "s", 0.0, 1.0) * np.array(per_day)[:, None]
    use = (given * factor * np.exp(rng.normal(0, 0.14, given.shape))).sum(0)
    use += _beside(rng, sum(per_day), k)
    left = float(rng.uniform(8, 250)) * sum(per_day)
    level = left + use.sum() - np.cumsum(use)
    days = np.arange(HISTORY_DAYS - 1, -1, -7)[:WEIGHINGS][::-1]
    first = AS_OF - timedelta(days=HISTORY_DAYS - 1)
    nominal = float(np.ceil(1.1 * (left + use.sum())))
    seen = tuple(
        Observation(
            first + timedelta(days=int(d)), "weigh", float(round(level[d] + rng.normal(0, 1.5))),
            "c1", 1.5, 1.0, "A",
        )
        for d in days
    )  # fmt: skip
    return Case(
        case_id=f"k{k:05d}",
        kind="bottle",
        unit="mL",
        as_of=AS_OF,
        history_from=first,
        vessels=(Vessel("c1", nominal, 0.01 * nominal, 0.0),),
        plan=tuple(
            PlanSegment(line, "hand", first, None, "1111111", amount)
            for line, amount in zip(lines, per_day, strict=True)
        ),
        observations=seen,
        ticks={line: "".join(row) for line, row in zip(lines, marks, strict=True)},
        supplier=_supplier(group),
        group=f"g{group}",
    )


def _beside(rng: np.random.Generator, per_day: float, k: int) -> np.ndarray:
    """What goes beside the plan: a leak of the last weeks, or a loss at once."""
    out, ago = np.zeros(HISTORY_DAYS), int(rng.integers(10, 40))
    if k % 40 == 0:
        out[-ago:] = rng.uniform(0.4, 1.5) * per_day
    if k % 40 == 20:
        out[-ago] = rng.uniform(10, 60) * per_day
    return out


def _supplier(group: int) -> Supplier:
    days = ((1, 4), (0,), (0, 2, 4), (3,))[group % 4]
    return Supplier(days, (3.0, 5.0, 7.0)[group % 3], (4.0, 6.0, 9.0, 5.0)[: group % 5])
