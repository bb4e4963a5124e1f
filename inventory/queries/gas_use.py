"""How much gas went between weighings, beside what the plan had asked for?"""

from __future__ import annotations

from itertools import pairwise

from inventory.forecast.watch import WeighedUse
from inventory.models import Container
from inventory.queries.levels import planned_between
from inventory.queries.stock_facts import StockFacts, Weighed

LEAST_HOURS = 12
"""Two weighings closer together than this are one: the second is only a check of the first."""


def weighed_uses(facts: StockFacts, container: Container) -> tuple[list[WeighedUse], float]:
    """Intervals of the gas line that a cylinder feeds, in order, and the noise of a weighing [g].

    The history of the line goes on across an exchange: cylinders that fed the same tanks before
    are part of it, each within its own weighings. Gas received in between is added to the use.
    """
    tanks = {f.tank_id for f in facts.feeds[container.pk] if f.holds(facts.today)}
    line = [
        pk
        for pk, feeds in facts.feeds.items()
        if pk == container.pk
        or (tanks and {f.tank_id for f in feeds if f.item_id == container.item_id} == tanks)
    ]
    out = [use for pk in line for use in _of_one(facts, pk)]
    sds = [seen.sd for pk in line for seen in facts.weighed.get(pk, ())]
    return sorted(out, key=lambda use: (use.end, use.start)), max(sds, default=0.0) / 1000


def _of_one(facts: StockFacts, pk: int) -> list[WeighedUse]:
    out: list[WeighedUse] = []
    for first, second in pairwise(_apart(facts.weighed.get(pk, []))):
        got = sum(m.amount for m in facts.moved.get(pk, ()) if first.at < m.at <= second.at)
        planned = planned_between(facts, facts.feeds.get(pk, ()), first.at, second.at)
        out.append(
            WeighedUse(
                start=first.day,
                end=second.day,
                used_g=(first.net + got - second.net) / 1000,
                planned_g=planned / 1000,
            )
        )
    return out


def _apart(weighings: list[Weighed]) -> list[Weighed]:
    """The weighings, of several within half a day only the last."""
    out: list[Weighed] = []
    for seen in weighings:
        if out and (seen.at - out[-1].at).total_seconds() < LEAST_HOURS * 3600:
            out[-1] = seen
        else:
            out.append(seen)
    return out
