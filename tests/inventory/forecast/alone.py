"""One case through the arrays, as the tests look at it: without sisters, without the bank."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from inventory.forecast import bank, many, runout
from inventory.forecast.bank import Held
from inventory.forecast.days import AHEAD_DAYS
from inventory.forecast.pack import pack
from inventory.forecast.prior import Floats
from inventory.forecast.sisters import ShareArrays
from inventory.forecast.types import USUAL, Case, Options


@dataclass(frozen=True)
class Believed:
    """State of one case at the end of ``as_of`` with one speed of drift, and what is left ahead."""

    mean: Floats
    cov: Floats
    log_evidence: float
    z: Floats
    shares: ShareArrays
    left: runout.Left

    @property
    def level(self) -> float:
        return float(self.mean[0])


def believed(case: Case, walk: float = 0.002) -> Believed:
    """What the plain filter holds of a case."""
    options = Options(walks=((walk, 1.0),), trend=None, sisters=False, bank=False)
    (packed,) = pack([case])
    ((part,),) = many.learned([packed.stocks], options)
    walked = part.walked
    found = bank.held(walked, look=False)
    ahead = runout.ahead_of(part.stocks, part.shares, AHEAD_DAYS)
    left = runout.left_of(ahead, found, np.zeros(1, dtype=np.int64))
    state = walked.done.end
    return Believed(
        state.mean[:, 0],
        state.cov[:, :, 0],
        float(state.log_evidence[0]),
        walked.done.z[:, 0],
        part.shares,
        left,
    )


def held(case: Case, options: Options = USUAL) -> Held:
    """What may have happened to one case, from its kind alone."""
    (packed,) = pack([case])
    alone = replace(options, sisters=False)
    ((part,),) = many.learned([packed.stocks], alone)
    return many.followed(part, alone)
