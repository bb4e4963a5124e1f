"""One projection as the row that is stored, with all that it was made from."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from math import ceil, sqrt
from statistics import NormalDist
from typing import Any

from gallery_ops.kernel.models import Showroom
from inventory.forecast.because import amount
from inventory.forecast.engine import ENGINE
from inventory.forecast.kept import packed, sisters_parts
from inventory.forecast.pooled import Beside, Part, conclude, together
from inventory.forecast.types import HORIZON_DAYS, LEVELS, Case, Left, Pool, Projection
from inventory.models import Container, Forecast
from inventory.queries.forecast_cases import Subject, per_unit
from inventory.queries.made_again import blank, digest_sum

EARLIEST, LIKELY, LATEST = 0.10, 0.50, 0.90
PLACES = 10
"""Decimals of a stored quantile [d]."""
Z_10 = NormalDist().inv_cdf(0.9)


@dataclass(frozen=True, slots=True)
class Refreshed:
    """What a run did: keys of subjects projected, and how many rows were new, altered, as
    before.
    """

    keys: tuple[str, ...]
    made: int
    altered: int
    unchanged: int


@dataclass(frozen=True, slots=True)
class Whole:
    """An item put together from its places: the sum, and what each adds.

    ``digests``: sum over places of what each was made from; ``kept``: what else its projection was
    made from. What may be wrong stands with the projections of its containers.
    """

    total: Part
    beside: Beside
    places: int
    digests: str
    kept: Mapping[str, Any]
    parts: Mapping[str, Part]

    @classmethod
    def of(
        cls, subject: Subject, parts: Mapping[str, Part], found: Mapping[str, Projection]
    ) -> Whole:
        """From a pool and the projections of its places."""
        pool = subject.stock
        if not isinstance(pool, Pool):
            raise TypeError(f"{subject.key} is no pool.")
        loose = [place for place in pool.places if place.group == ""]
        fed = [place for place in pool.places if place.group]
        return cls(
            total=together(parts.values()),
            beside=Beside(
                case_id=pool.case_id,
                unit=pool.places[0].unit,
                as_of=pool.places[0].as_of,
                reserve=pool.reserve,
                reserve_sd=pool.reserve_sd,
                supplier=pool.supplier,
                harm=pool.harm,
            ),
            places=len(pool.places),
            digests=digest_sum(digest_of(place, found[place.case_id]) for place in fed),
            kept={"loose": [packed(place) for place in loose]},
            parts=parts,
        )

    def conclude(self) -> Projection:
        """The projection of the item."""
        return conclude(self.total, self.beside)


@dataclass(frozen=True, slots=True)
class Made:
    """A subject with its projection; ``whole`` for an item in places."""

    subject: Subject
    found: Projection
    whole: Whole | None = None


def digest_of(case: Case, found: Projection) -> str:
    """What a projection is made from, as one number: case, sisters, version of the arithmetic."""
    told = replace(case, sisters=None)
    return hashlib.sha256(f"{ENGINE}\n{told!r}\n{found.sisters!r}".encode()).hexdigest()


def row_of(showroom: Showroom, made: Made, at: datetime) -> Forecast:
    """The row of a projection; it is not stored yet."""
    subject, found = made.subject, made.found
    _, base = per_unit(subject.item)
    order = found.order_by
    kept, digest = _made_from(made)
    return Forecast(
        showroom=showroom,
        container=subject.container,
        item=subject.item,
        as_of_on=found.as_of,
        made_at=at,
        engine=ENGINE,
        digest=digest,
        level_base=subject.level,
        level_sd_base=round(found.level_sd * base),
        measured_at=subject.measured_at,
        plan_base_per_day=round(subject.per_day),
        quantiles_days=[round(q, PLACES) for q in found.quantiles],
        plan_quantiles_days=[round(q, PLACES) for q in found.plan_quantiles],
        made_from=kept,
        finding=_finding(made),
        earliest_on=day_of(found, EARLIEST),
        likely_on=day_of(found, LIKELY),
        latest_on=day_of(found, LATEST),
        order_by_on=(
            None if order is None or order >= HORIZON_DAYS else found.as_of + timedelta(days=order)
        ),
        too_old_on=too_old_on(subject.container),
        alarm=found.alarm,
        because=_because(subject, found),
    )


def _made_from(made: Made) -> tuple[dict[str, Any], str]:
    stock, found, whole = made.subject.stock, made.found, made.whole
    if isinstance(stock, Case):
        digest = digest_of(stock, found)
        kept: dict[str, Any] = {
            "case": packed(replace(stock, sisters=None)),
            "weighings": sum(o.kind == "weigh" for o in stock.observations),
            "looks": sum(o.kind == "eye" for o in stock.observations),
            "days": len(next(iter(stock.ticks.values()), "")),
            "lines": len(stock.ticks),
        }
        if found.sisters:
            kept["sisters"] = sisters_parts(found.sisters[0])
        return {"engine": ENGINE} | kept, digest
    if whole is None:
        raise TypeError(f"{made.subject.key} has no places.")
    return whole_made_from(whole)


def whole_made_from(whole: Whole) -> tuple[dict[str, Any], str]:
    """What an item's projection was made from, and its digest."""
    kept = {
        "engine": ENGINE,
        "places": whole.places,
        "digests": whole.digests,
        "reserve": whole.beside.reserve,
        "reserve_sd": whole.beside.reserve_sd,
        "rest": packed(blank(whole.beside)),
        **whole.kept,
    }
    told = "\n".join(f"{k}={kept[k]}" for k in sorted(kept))
    return kept, hashlib.sha256(told.encode()).hexdigest()


def _finding(made: Made) -> dict[str, Any]:
    if made.whole is not None:
        return {}
    return finding_of(made.found, made.subject.container)


def finding_of(found: Projection, container: Container | None) -> dict[str, Any]:
    """What may be wrong, as it is stored: the thing to be told first, others, slow things, age."""
    first = found.finding
    out: dict[str, Any] = first.parts() if first else {}
    others = [one.parts() for one in found.findings if one is not first]
    if others:
        out["others"] = others
    if found.told:
        out["habits"] = [
            {
                "habit": one.habit,
                "lo": round(one.lo, 4),
                "mid": round(one.mid, 4),
                "hi": round(one.hi, 4),
                "chance": round(one.chance, 4),
                "n": one.n,
                "measured_on": one.measured_on.isoformat(),
            }
            for one in found.told
        ]
    age = _too_old(found, container)
    return out | ({"too_old": age} if age else {})


def _too_old(found: Projection, container: Container | None) -> dict[str, Any]:
    """How much will be left when an opened container becomes too old, with its range."""
    limit = too_old_on(container)
    if container is None or container.opened_on is None or limit is None or found.left is None:
        return {}
    days = max(0, (limit - found.as_of).days - 1)
    if days > HORIZON_DAYS:
        return {}
    _, base = per_unit(container.item)
    mean, sd = left_on(found.left, days)
    return {
        "on": limit.isoformat(),
        "lo": round(max(0.0, mean - Z_10 * sd) * base),
        "mid": round(max(0.0, mean) * base),
        "hi": round(max(0.0, mean + Z_10 * sd) * base),
        "used_up": round(chance_by(found.quantiles, float(days)), 4),
    }


def left_on(left: Left, day: int) -> tuple[float, float]:
    """Mean and sd of what is left at the end of a day."""
    return left.mean[day], sqrt(max(0.0, left.variance[day]))


def chance_by(quantiles: tuple[float, ...], day: float) -> float:
    """Least chance that the stock is gone by a day, from the nineteen levels; 0 below p05."""
    return max((p for p, q in zip(LEVELS, quantiles, strict=True) if q <= day), default=0.0)


def _because(subject: Subject, found: Projection) -> list[dict[str, Any]]:
    """The reasons; the level is that of the ledger, with what stays in the container."""
    unit, base = per_unit(subject.item)
    told = [dict(reason) for reason in found.because]
    told[0]["level"] = dict(amount(subject.level / base, unit))
    return told


def day_of(found: Projection, level: float) -> date | None:
    """The day in which the stock is gone with this chance; None beyond the horizon."""
    days = found.quantile(level)
    return None if days >= HORIZON_DAYS else found.as_of + timedelta(days=ceil(days))


def too_old_on(container: Container | None) -> date | None:
    """First day on which an opened container is too old: opened life or printed date."""
    if container is None:
        return None
    days = []
    if container.opened_on and container.item.opened_life_days:
        days.append(container.opened_on + timedelta(days=container.item.opened_life_days))
    if container.lot.expires_on:
        days.append(container.lot.expires_on)
    return min(days, default=None)
