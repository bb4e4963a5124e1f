"""Is something wrong, and what? A bank of hypotheses, opened when readings miss.

Each hypothesis is the same filter with one change, gone through again from before the interval it
changes; its weight is its prior weight times how well it explains the readings. Opened by a CUSUM
of the innovations, so that a healthy stock costs little. All hypotheses of all stocks are columns
of one filter: those of an earlier interval run first, the others join when their interval comes.
Source: Harrison and Stevens 1976, JRSS B 38 (mixtures for interventions); Page 1954, Biometrika 41
(CUSUM); both from memory. Prior weights are assumptions of this program.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from inventory.forecast import change
from inventory.forecast import filter as kalman
from inventory.forecast.filter import RECENT_READINGS, Extra, Noise, State
from inventory.forecast.hypotheses import Pairs, Walked, hypotheses
from inventory.forecast.prior import Floats
from inventory.forecast.stocks import Bools, Ints

CUSUM_SLACK = 0.5
OPEN_CUSUM, OPEN_Z = 3.0, 2.5
ALARM_SHARE = 0.5
LEAST_SHARE = 1e-4


@dataclass(frozen=True, slots=True)
class Held:
    """What may have happened to N stocks: C components, those of one stock together.

    ``share`` sums to 1 over a stock; ``slot`` the reading in whose interval it happened; ``walk``
    squared drift per day, ``day`` squared day noise. ``state.mean[-1]`` is the size of it.
    """

    stock: Ints
    name: Ints
    """Number in :data:`change.NAMES`."""
    slot: Ints
    share: Floats
    runs_on: Bools
    """A steady loss that goes on after ``as_of``."""
    trends: Bools
    """The size is the change of all factors per day."""
    walk: Floats
    day: Floats
    state: State

    def of(self, which: Ints | Bools) -> Held:
        """Some components."""
        at = np.arange(len(self.stock))[which]
        return Held(
            self.stock[at],
            self.name[at],
            self.slot[at],
            self.share[at],
            self.runs_on[at],
            self.trends[at],
            self.walk[at],
            self.day[at],
            self.state.pick(at),
        )

    def by_name(self, stocks: int) -> Floats:
        """(N, names) share of each name."""
        names = len(change.NAMES)
        total = np.bincount(self.stock * names + self.name, self.share, stocks * names)
        return np.asarray(total.reshape(stocks, names), dtype=np.float64)

    def drifting(self, stocks: int) -> Floats:
        """(N,) share of a steady drift."""
        own = self.trends & (self.name == change.NOTHING)
        return np.asarray(np.bincount(self.stock[own], self.share[own], stocks), dtype=np.float64)


def cusum(z: Floats, counted: Bools) -> Floats:
    """Running one-sided sums max(0, S - z - slack): high when content falls too fast.

    z, counted : (R, M) innovations and which of them count. Returns (R, M).
    """
    out, run = np.zeros(z.shape), np.zeros(z.shape[1])
    for slot in range(len(z)):
        run = np.where(counted[slot], np.maximum(0.0, run - z[slot] - CUSUM_SLACK), run)
        out[slot] = run
    return out


def is_open(z: Floats, is_seen: Bools) -> Bools:
    """Do the last 20 readings miss enough to look closer? z, is_seen : (R, M). Returns (M,).

    The first reading of a stock foretells nothing.
    """
    if not len(z):
        return np.zeros(z.shape[1], dtype=np.bool_)
    counted = is_seen & (np.cumsum(is_seen, axis=0) > 1)
    lately = slice(-RECENT_READINGS, None)
    far = (np.abs(np.where(counted, z, 0.0))[lately] > OPEN_Z).any(0)
    sums = np.maximum(cusum(z, counted), cusum(-z, counted))[lately].max(0)
    return np.asarray(far | (sums > OPEN_CUSUM), dtype=np.bool_)


def held(walked: Walked, *, look: bool = True) -> Held:
    """What may have happened, with every speed of drift. look : open the bank at all."""
    stocks, done, n = walked.stocks, walked.done, len(walked.stocks)
    logs = np.log(walked.prior) + done.end.log_evidence
    zero = np.zeros(len(logs))
    base = Held(
        walked.of, zero.astype(np.int64), zero.astype(np.int64), logs,
        stocks.runs_on[walked.of], np.zeros(len(logs), dtype=np.bool_),
        walked.noise.walk, walked.noise.day, done.end,
    )  # fmt: skip
    base = _with_trend(base, walked)
    looked_into = opened(walked) if look else np.zeros(n, dtype=np.bool_)
    if not looked_into.any():
        return _shared(base, n)
    pairs = hypotheses(walked, looked_into)
    if not len(pairs.column):
        return _shared(base, n)
    state = _replay(walked, pairs)
    column = pairs.column
    tried = Held(
        walked.of[column],
        pairs.name,
        pairs.slot,
        np.log(walked.prior[column] * pairs.weight) + state.log_evidence,
        (pairs.later > 0) | (stocks.runs_on[walked.of[column]] & (pairs.sd == 0)),
        np.zeros(len(column), dtype=np.bool_),
        walked.noise.walk[column],
        walked.noise.day[column],
        state,
    )
    return _shared(_both(base, tried), n)


def _with_trend(base: Held, walked: Walked) -> Held:
    """The same with a steady drift beside the walks, where it was asked for."""
    if walked.trended is None:
        return base
    stocks, end, n = walked.stocks, walked.trended.end, len(walked.stocks)
    zero, slow = np.zeros(n, dtype=np.int64), slice(0, n)
    logs = np.log(walked.weights[-1]) + end.log_evidence
    trending = Held(
        np.arange(n), zero, zero, logs, stocks.runs_on, stocks.may_trend,
        walked.noise.walk[slow], walked.noise.day[slow], end,
    )  # fmt: skip
    return _both(base, trending)


def opened(walked: Walked) -> Bools:
    """(N,) do the readings of a stock miss enough, with the walk that explains them best?"""
    return is_open(walked.done.z[:, likely_columns(walked)], walked.stocks.is_seen.T)


def likely_columns(walked: Walked) -> Ints:
    """(N,) column of the walk that explains the readings of each stock best."""
    n = len(walked.stocks)
    logs = (np.log(walked.prior) + walked.done.end.log_evidence).reshape(walked.walks, n)
    return np.asarray(np.argmax(logs, axis=0) * n + np.arange(n), dtype=np.int64)


def _both(a: Held, b: Held) -> Held:
    def joined(name: str) -> Floats:
        return np.concatenate((getattr(a, name), getattr(b, name)))

    state = State(
        np.concatenate((a.state.mean, b.state.mean), axis=1),
        np.concatenate((a.state.cov, b.state.cov), axis=2),
        np.concatenate((a.state.log_evidence, b.state.log_evidence)),
    )
    return Held(
        joined("stock").astype(np.int64), joined("name").astype(np.int64),
        joined("slot").astype(np.int64), joined("share"), joined("runs_on").astype(np.bool_),
        joined("trends").astype(np.bool_), joined("walk"), joined("day"), state,
    )  # fmt: skip


def _shared(every: Held, n: int) -> Held:
    """Log weights made into shares of each stock; what hardly counts is left out."""
    top = np.full(n, -np.inf)
    np.maximum.at(top, every.stock, every.share)
    weight = np.exp(every.share - top[every.stock])
    keep = (weight > LEAST_SHARE) | (every.name == change.NOTHING)
    total = np.bincount(every.stock[keep], weight[keep], n)
    share = weight / total[every.stock]
    order = np.flatnonzero(keep)
    order = order[np.argsort(every.stock[order], kind="stable")]
    found = every.of(order)
    return Held(
        found.stock, found.name, found.slot, share[order], found.runs_on,
        found.trends, found.walk, found.day, found.state,
    )  # fmt: skip


def alarm_of(by_name: Floats, drifting: Floats) -> Ints:
    """(N,) number of the loss that is told, 0 without: when both kinds are likelier than all else.

    A steady drift is no reason to keep still: what grows faster and faster is looked at all the
    same. by_name : (N, names) shares; drifting : (N,) share of a steady drift without a name.
    """
    steady, sudden = by_name[:, change.STEADY], by_name[:, change.SUDDEN]
    which = np.where(steady >= sudden, change.STEADY, change.SUDDEN)
    return np.where(steady + sudden > ALARM_SHARE * (1 - drifting), which, change.NOTHING).astype(
        np.int64
    )


def _replay(walked: Walked, pairs: Pairs) -> State:
    """Each hypothesis from before its interval to the end of ``as_of``."""
    stocks, feed = walked.stocks, walked.feed
    slots, p = stocks.slots, len(pairs.column)
    d = stocks.lines + 4
    mean, cov, evidence = np.empty((d, p)), np.empty((d, d, p)), np.empty(p)
    of = walked.of[pairs.column]
    noise = Noise(walked.noise.day[pairs.column], walked.noise.walk[pairs.column])
    begun = np.searchsorted(pairs.slot, np.arange(slots + 1), side="right")
    kept, has_loss = slots - len(walked.done.before), bool(stocks.loss_days.any())
    for slot in range(int(pairs.slot[0]), slots + 1):
        m, m0 = int(begun[slot]), int(begun[slot - 1]) if slot else 0
        if slot < slots and m > m0:
            fresh = walked.done.before[slot - kept].pick(pairs.column[m0:m])
            mean[:, m0:m], cov[:, :, m0:m] = fresh.mean, fresh.cov
            evidence[m0:m] = fresh.log_evidence
            _ask_for_size(mean[:, m0:m], cov[:, :, m0:m], pairs, m0, m)
        state = State(mean[:, :m], cov[:, :, :m], evidence[:m])
        now = np.take(feed[slot], of[:m], axis=1)
        loss = pairs.later[:m] * now[kalman.DAYS]
        if has_loss:
            loss += now[kalman.LOSS_DAYS]
        extra, misread = _extra(pairs, slot, m0, m, loss)
        kalman.advance(state, now, Noise(noise.day[:m], noise.walk[:m]), extra)
        if slot < slots:
            kalman.observe(state, now, misread=misread)
        evidence[:m] = state.log_evidence
    return State(mean, cov, evidence)


def _ask_for_size(mean: Floats, cov: Floats, pairs: Pairs, m0: int, m: int) -> None:
    """r of the hypotheses that begin here; a loss given beforehand stays where nothing is asked."""
    asked = pairs.sd[m0:m] > 0
    mean[-1, asked] = pairs.size[m0:m][asked]
    cov[-1, :, asked] = 0.0
    cov[:, -1, asked] = 0.0
    cov[-1, -1, asked] = pairs.sd[m0:m][asked] ** 2


def _extra(pairs: Pairs, slot: int, m0: int, m: int, loss: Floats) -> tuple[Extra, Floats | None]:
    """What the hypotheses do before reading ``slot``; those from m0 on begin here."""
    loss[m0:] += pairs.first[m0:m] - pairs.later[m0:m] * loss[m0:]
    content, variance = np.zeros(m), np.zeros(m)
    content[m0:], variance[m0:] = pairs.late[m0:m], pairs.spread[m0:m] + pairs.late_var[m0:m]
    b0 = int(np.searchsorted(pairs.slot, slot - 1, side="left"))
    content[b0:m0] -= pairs.late[b0:m0]
    variance[b0:m0] -= pairs.late_var[b0:m0]
    misread = None
    if pairs.misread[m0:m].any():
        misread = np.zeros(m)
        misread[m0:] = pairs.misread[m0:m]
    return Extra(loss, content, variance), misread
