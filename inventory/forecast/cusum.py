"""Does a use creep above its own usual? One-sided sums of what lies above it, with a known rate of
false alarms.

Each weighing gives a standardised excess z: 0 is as usual, 1 is one standard deviation above. The
sum goes up by z less a slack k and never below 0; above the limit h it alarms. While nothing is
wrong and z scatters like a bell curve, k = 0.5 and h = 4 alarm falsely about once per 335
weighings, and a use that is one standard deviation too high is seen after about 8.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import erfc, pi, sqrt

import numpy as np
from numpy.typing import NDArray

SLACK = 0.5
LIMIT = 4.0
_NODES = 60


@dataclass(frozen=True, slots=True)
class Run:
    """How the sum stands after the last of ``count`` readings.

    ``since`` : number of the first reading of the present climb, ``count`` when the sum is 0
    ``crossed`` : number of the reading at which this climb first passed the limit, or None
    """

    value: float
    limit: float
    count: int
    since: int
    crossed: int | None

    @property
    def is_over(self) -> bool:
        """The present climb passed the limit and has not come back to 0."""
        return self.crossed is not None


def upward(excesses: Sequence[float], slack: float = SLACK, limit: float = LIMIT) -> Run:
    """The sum of excesses above ``slack`` standard deviations, reading by reading.

    excesses : standardised, in order of time; NaN is refused by the caller
    A climb ends when the sum is back at 0.

    >>> upward([0.2, 3.0, 3.0]).value, upward([0.2, 3.0, 3.0]).crossed
    (5.0, 2)
    """
    value, since, crossed = 0.0, 0, None
    for number, z in enumerate(excesses):
        value = max(0.0, value + z - slack)
        if value == 0.0:
            since, crossed = number + 1, None
        elif value > limit and crossed is None:
            crossed = number
    return Run(value, limit, len(excesses), since, crossed)


def onset(excesses: Sequence[float], run: Run) -> int:
    """Number of the reading with which the present climb most likely began.

    The sum leaves 0 with any reading a little high; the step itself begins where the readings from
    there on lie highest for their number (the largest likelihood of one step in a bell curve).

    >>> onset([0.0, 0.7, 4.0, 4.0], upward([0.0, 0.7, 4.0, 4.0]))
    2
    """
    starts = range(run.since, run.count)
    return max(
        starts,
        key=lambda start: sum(excesses[start:]) / sqrt(run.count - start),
        default=run.count,
    )


@cache
def run_length(shift_sds: float = 0.0, slack: float = SLACK, limit: float = LIMIT) -> float:
    """Mean number of readings until the sum, begun at 0, passes its limit.

    shift_sds : how far the readings lie above usual, in standard deviations; 0 = nothing is wrong,
    and the answer is how seldom a false alarm comes
    Readings are independent and scatter like a bell curve. Solved as the integral equation of the
    run length, by Gauss-Legendre nodes (Page, Biometrika 41:100, 1954, for the scheme).

    >>> round(run_length())
    335
    """
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    at = (nodes + 1) * limit / 2
    weight = weights * limit / 2
    step = slack - shift_sds
    # From a sum u the next is y with density f(y - u + step); it falls to 0 with F(step - u).
    kernel = _density(at[None, :] - at[:, None] + step) * weight[None, :]
    to_zero = _below(step - at)
    whole = np.zeros((_NODES + 1, _NODES + 1))
    whole[0, 0] = _below(np.array([step]))[0]
    whole[0, 1:] = _density(at + step) * weight
    whole[1:, 0] = to_zero
    whole[1:, 1:] = kernel
    lengths = np.linalg.solve(np.eye(_NODES + 1) - whole, np.ones(_NODES + 1))
    return float(lengths[0])


def _density(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Bell curve of mean 0 and sd 1."""
    return np.asarray(np.exp(-(x**2) / 2) / sqrt(2 * pi))


def _below(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Its area to the left of x."""
    return np.array([erfc(-float(each) / sqrt(2)) / 2 for each in x])
