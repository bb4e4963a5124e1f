"""Do stocks of one item drift? What sisters teach of the speed of it.

One stock says little of how fast its factor wanders; a dozen together say much. The prior weight of
each speed is learned in each group (maximum a posteriori, by rounds of expectation and
maximisation), each stock itself left out. A stock where something seems to have gone wrong does not
teach: a loss looks like drift.
Source: Dempster, Laird and Rubin 1977, JRSS B 39 (from memory); the weight of the prior is an
assumption of this program.
"""

from __future__ import annotations

import numpy as np

from inventory.forecast.prior import Floats
from inventory.forecast.stocks import Bools, Ints, numbered

PRIOR_SISTERS = 0.5
"""How many sisters the usual weights are worth."""
ROUNDS = 12


def weights(evidence: Floats, usual: Floats, group: Ints, teaches: Bools) -> Floats:
    """Prior weight of each way to drift for each stock; (W, N), summing to 1 over them.

    evidence : (W, N) log evidence of each stock with each speed; usual : (W,) weights without
    sisters; group : (N,); teaches : (N,).
    """
    own = numbered(group)
    groups = int(own.max(initial=-1)) + 1
    like = np.exp(evidence - evidence.max(0))
    count = np.bincount(own, teaches * 1.0, groups)
    start = PRIOR_SISTERS * usual[:, None]
    weight = np.broadcast_to(usual[:, None], (len(usual), groups))
    told = np.zeros_like(like)
    for _ in range(ROUNDS):
        told = weight[:, own] * like
        told = told / told.sum(0) * teaches
        total = np.stack([np.bincount(own, row, groups) for row in told])
        weight = (start + total) / (PRIOR_SISTERS + count)
    rest = (start + total)[:, own] - told
    return np.asarray(rest / (PRIOR_SISTERS + count[own] - teaches), dtype=np.float64)
