"""Which of several weighing intervals does an answer mean?

Somebody who found a spill knows about when; the weighings know better.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np

from inventory.forecast import filter as kalman
from inventory.forecast import sisters
from inventory.forecast.answers import intervals
from inventory.forecast.pack import pack
from inventory.forecast.readings import Reading, readings
from inventory.forecast.types import Answer, Case

WALK = 0.002


def settled(cases: Sequence[Case]) -> list[Case]:
    """Answers that span several weighing intervals narrowed to the one that fits best.

    Each possible interval is followed by itself, with the slower of the usual drifts; few cases
    have such an answer.
    """
    return [_settle(case) if _is_wide(case) else case for case in cases]


def _is_wide(case: Case) -> bool:
    return bool(case.answers) and any(
        answer.name != "none" and len(intervals(case, readings(case), answer)) > 1
        for answer in case.answers
    )


def _settle(case: Case) -> Case:
    seen = readings(case)
    for k, answer in enumerate(case.answers):
        if answer.name == "none":
            continue
        tried = [
            replace(
                case,
                answers=(
                    *case.answers[:k],
                    _narrowed(case, seen, answer, n),
                    *case.answers[k + 1 :],
                ),
            )
            for n in intervals(case, seen, answer)
        ]
        if len(tried) > 1:
            case = tried[_best(tried)]
    return case


def _narrowed(case: Case, seen: tuple[Reading, ...], answer: Answer, n: int) -> Answer:
    first = case.history_from
    lo, hi = first + timedelta(days=seen[n - 1].at), first + timedelta(days=seen[n].at - 1)
    return replace(answer, from_day=lo, to_day=hi)


def _best(tried: Sequence[Case]) -> int:
    """Number of the case whose answers explain its readings best."""
    logs = [_evidence(case) for case in tried]
    return max(range(len(logs)), key=lambda n: (logs[n], -n))


def _evidence(case: Case) -> float:
    (packed,) = pack([case])
    stocks = packed.stocks
    alone = sisters.of_kind(stocks.kind)
    begun = kalman.start(stocks, alone.mean, alone.variance)
    kalman.calibrate(begun, stocks)
    noise = kalman.noise_of(stocks, alone.noise, WALK)
    done = kalman.run(begun, kalman.feed_of(stocks), np.zeros(1, np.int64), noise, stocks.usable)
    return float(done.end.log_evidence[0])
