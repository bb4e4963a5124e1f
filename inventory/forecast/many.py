"""Many stocks at once: arrays in, arrays out.

The steps of the engine over all stocks of the same number of lines, in parts that fit into the near
memory of a processor; time and memory grow with the number of stocks and not faster.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from inventory.forecast import bank, delivery, drift, runout, sisters
from inventory.forecast import filter as kalman
from inventory.forecast.bank import Held
from inventory.forecast.hypotheses import Walked
from inventory.forecast.prior import Floats
from inventory.forecast.sisters import Beliefs, ShareArrays, Taught
from inventory.forecast.stocks import Bools, Ints, Stocks, Suppliers
from inventory.forecast.types import HORIZON_DAYS, USUAL, Options

WALKS = USUAL.walks
AT_ONCE = 512
"""Stocks taken through the filter together."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What follows for N stocks.

    ``quantiles`` (N, 19) days, 400 = not within; ``alarm`` (N,) number in ``change.NAMES``, 0 =
    none; ``by_name`` (N, names) chance of each name; ``order_by`` (N,) days, -1 without a supplier;
    ``risk`` (N,) chance to be out before that order comes.
    """

    quantiles: Floats
    alarm: Ints
    by_name: Floats
    order_by: Ints
    risk: Floats

    @property
    def name(self) -> Ints:
        """(N,) number of what is likelier than all else, 0 = nothing; a loss by its alarm."""
        likely = np.argmax(self.by_name, axis=1)
        told = self.by_name[np.arange(len(likely)), likely] > bank.ALARM_SHARE
        likely = np.where(told, likely, 0)
        return np.where(self.alarm > 0, self.alarm, likely).astype(np.int64)


@dataclass(frozen=True, slots=True)
class Part:
    """Some of the stocks, ready for the second pass."""

    stocks: Stocks
    feed: Floats
    beliefs: Beliefs
    shares: ShareArrays
    walked: Walked
    """The plain filter with every speed of drift, weighed as the sisters taught."""


def learned(every: Sequence[Stocks], options: Options = USUAL) -> list[list[Part]]:
    """What the stocks teach each other, and the plain filter; per set of stocks its parts."""
    cut = [[s.part(lo, lo + AT_ONCE) for lo in range(0, len(s), AT_ONCE)] for s in every]
    feeds = [[kalman.feed_of(part) for part in parts] for parts in cut]
    kind = np.concatenate([s.kind for s in every])
    group = np.concatenate([s.group for s in every])
    counts = np.concatenate([s.counts for s in every])
    brings = np.concatenate([s.brings for s in every])
    brought = np.concatenate([s.brought for s in every])
    believed = sisters.of_kind(kind)
    if options.sisters:
        taught: list[Taught] = [
            sisters.first_pass(part, feed)
            for parts, fed in zip(cut, feeds, strict=True)
            for part, feed in zip(parts, fed, strict=True)
        ]
        believed = sisters.beliefs(kind, group, sisters.together(taught))
    believed = sisters.with_brought(believed, brings, brought)
    of_group = np.where(brings[:, None], brought[:, 3:6], sisters.group_counts(counts, group))
    worth = np.where(brings & ~np.isnan(brought[:, 8]), brought[:, 8], sisters.worth(counts, group))
    ticked = np.concatenate([s.ticked for s in every])
    shares = sisters.shares_of(ticked, counts, of_group, worth)
    out, at = [], 0
    for parts, fed in zip(cut, feeds, strict=True):
        made = []
        for part, feed in zip(parts, fed, strict=True):
            end = at + len(part)
            own = believed.part(at, end)
            walked = _walk(part, feed, own, options)
            made.append(Part(part, feed, own, shares.part(at, end), walked))
            at = end
        out.append(made)
    return _with_drift(out, group, brings, brought) if options.sisters else out


def _with_drift(
    sets: list[list[Part]], group: Ints, brings: Bools, brought: Floats
) -> list[list[Part]]:
    """The same with the weights of the speeds of drift that sisters teach, or that were brought."""
    every = [part for parts in sets for part in parts]
    evidence = np.concatenate([one.walked.evidence for one in every], axis=1)
    usual = every[0].walked.weights[:, 0]
    is_open = np.concatenate([bank.opened(one.walked) for one in every])
    weights = drift.weights(evidence, usual, group, ~is_open)
    told = brings & ~np.isnan(brought[:, 6:8]).any(1) & (len(usual) == len(WALKS) + 1)
    quick, steady = brought[told, 6], brought[told, 7]
    weights[:, told] = np.stack((1 - quick - steady, quick, steady))[: len(usual)]
    ends = np.cumsum([len(one.stocks) for one in every])
    split = zip(every, np.split(weights, ends[:-1], axis=1), strict=True)
    taught = iter([replace(part, walked=replace(part.walked, weights=own)) for part, own in split])
    return [list(islice(taught, len(parts))) for parts in sets]


def followed(part: Part, options: Options = USUAL) -> Held:
    """What may have happened to each stock of a part, with every speed of drift."""
    return bank.held(part.walked, look=options.bank)


def _walk(stocks: Stocks, feed: Floats, beliefs: Beliefs, options: Options) -> Walked:
    """The plain filter with every speed of drift; ``begun`` serves each."""
    n, walks = len(stocks), options.walks
    begun = kalman.start(stocks, beliefs.mean, beliefs.variance)
    kalman.calibrate(begun, stocks)
    of = np.tile(np.arange(n), len(walks))
    noises = [kalman.noise_of(stocks, beliefs.noise, speed) for speed, _ in walks]
    noise = kalman.Noise(
        np.concatenate([one.day for one in noises]), np.concatenate([one.walk for one in noises])
    )
    done = kalman.run(begun.pick(of), feed, of, noise, stocks.usable[of], keep=options.bank)
    weights = np.repeat([[weight] for _, weight in walks], n, axis=1)
    if options.trend is None:
        return Walked(stocks, feed, done, of, weights, noise)
    sd, share = options.trend
    kalman.ask_for_trend(begun, stocks, sd)
    trended = kalman.run(begun, feed, of[:n], noises[0], stocks.usable, rate=kalman.TRENDING)
    weights = np.concatenate(((1 - share) * weights, np.full((1, n), share)))
    return Walked(stocks, feed, done, of, weights, noise, trended)


def reckon(every: Sequence[tuple[Stocks, Suppliers]], options: Options = USUAL) -> list[Outcome]:
    """Run-out, alarm and order-by of all stocks; sisters may stand in different sets.

    every : sets of stocks, each of one number of lines. Returns one outcome a set, in order.
    """
    parts = learned([stocks for stocks, _ in every], options)
    return [
        _joined([_reckon(part, suppliers, options) for part in own])
        for own, (_, suppliers) in zip(parts, every, strict=True)
    ]


def _reckon(part: Part, suppliers: Suppliers, options: Options) -> Outcome:
    found = followed(part, options)
    n = len(part.stocks)
    by_name = found.by_name(n)
    ahead = runout.ahead_of(part.stocks, part.shares, HORIZON_DAYS)
    out_by = runout.mixed(ahead, found, n)
    order, risk = ordered(part, suppliers, found, out_by)
    return Outcome(
        runout.quantiles(out_by), bank.alarm_of(by_name, found.drifting(n)), by_name, order, risk
    )


def ordered(part: Part, suppliers: Suppliers, found: Held, out_by: Floats) -> tuple[Ints, Floats]:
    """Order-by day and its risk (N,); -1 and 0 without a supplier.

    out_by : (N, 401). Only where an order could come later than that, days beyond are reckoned.
    """
    stocks, n = part.stocks, len(part.stocks)
    order, risk = np.full(n, -1, dtype=np.int64), np.zeros(n)
    own = np.flatnonzero(stocks.supplier >= 0)
    if not len(own):
        return order, risk
    of = stocks.supplier[own]
    order[own], risk[own], is_exact = delivery.latest(suppliers, of, out_by[own], stocks.risk[own])
    late = own[~is_exact]
    if len(late):
        longer = runout.ahead_of(stocks, part.shares, int(stocks.hand.shape[2]), late)
        own_held = found.of(np.isin(found.stock, late))
        renumbered = replace(own_held, stock=np.searchsorted(late, own_held.stock))
        beyond = runout.mixed(longer, renumbered, len(late))
        order[late], risk[late], _ = delivery.latest(
            suppliers, stocks.supplier[late], beyond, stocks.risk[late]
        )
    return order, risk


def _joined(parts: list[Outcome]) -> Outcome:
    return Outcome(
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("quantiles", "alarm", "by_name", "order_by", "risk")
        )
    )
