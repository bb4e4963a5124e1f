"""What was measured and seen of stock: weighings, presses, portions, looks, and what people found.

The readers fill the rows of :class:`inventory.queries.stock_facts.StockFacts`; one query each.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from django.db.models import Q

from gallery_ops.kernel.values.day import day_bounds
from inventory.models import (
    EyeCount,
    FeederCalibration,
    Movement,
    MovementKind,
    PressCalibration,
    StockFinding,
    Weighing,
)

if TYPE_CHECKING:
    from inventory.queries.stock_facts import StockFacts


@dataclass(frozen=True, slots=True)
class Weighed:
    """A weighing: net content and the noise of its scale, in base units of the item."""

    at: datetime
    day: date
    net: int
    sd: float
    resolution: float
    scale_id: int
    person_name: str


@dataclass(frozen=True, slots=True)
class Pressed:
    """From this day on one press gives so much [uL]; of so many presses that weighed so much."""

    day: date
    ul_per_press: int
    presses: int = 20
    mass_mg: int = 0


@dataclass(frozen=True, slots=True)
class Looked:
    """A level by eye, in quarters of a full container."""

    day: date
    quarters: int


@dataclass(frozen=True, slots=True)
class Portioned:
    """From this day on one portion of a feeder gives so much [mg]."""

    day: date
    mg_per_portion: int


@dataclass(frozen=True, slots=True)
class Found:
    """What a person found out about a stretch of days; ``end`` is the first day no longer in it."""

    what: str
    start: date
    end: date | None
    said_at: datetime


def read_measured(facts: StockFacts) -> None:
    """Weighings, presses weighed and findings of the containers, until that moment."""
    _weighed(facts)
    _pressed(facts)
    _found(facts)


def read_seen(facts: StockFacts, of_items: Q, tank_ids: Collection[int] | None) -> None:
    """Looks, portions of feeders and pieces asked for, until that moment."""
    _looked(facts)
    _portioned(facts, of_items, tank_ids)
    if tank_ids is None:
        _asked(facts, of_items)


def _weighed(facts: StockFacts) -> None:
    rows = (
        Weighing.objects.filter(container_id__in=list(facts.containers))
        .standing()
        .filter(done_at_corrected__lte=facts.at)
        .select_related("scale", "person")
        .order_by("done_at_corrected", "pk")
    )
    for row in rows:
        item = facts.containers[row.container_id].item
        per_mg = 1000 / row.density_mg_per_ml if item.dimension == "volume" else 1.0
        facts.weighed[row.container_id].append(
            Weighed(
                at=row.done_at_corrected,
                day=facts.day_of(row.done_at_corrected),
                net=row.net_base,
                sd=row.scale.noise_sd_mg * per_mg,
                resolution=row.scale.resolution_mg * per_mg,
                scale_id=row.scale_id,
                person_name=row.person.name,
            )
        )


def _pressed(facts: StockFacts) -> None:
    rows = (
        PressCalibration.objects.filter(container_id__in=list(facts.containers))
        .standing()
        .filter(done_at_corrected__lte=facts.at)
        .order_by("done_at_corrected", "pk")
        .values_list("container_id", "done_at_corrected", "ul_per_press", "presses", "mass_mg")
    )
    for container_id, done_at, ul_per_press, presses, mass_mg in rows:
        facts.pressed[container_id].append(
            Pressed(facts.day_of(done_at), ul_per_press, presses, mass_mg)
        )


def _looked(facts: StockFacts) -> None:
    rows = (
        EyeCount.objects.filter(container_id__in=list(facts.containers), counts=True)
        .standing()
        .filter(done_at_corrected__lte=facts.at)
        .order_by("done_at_corrected", "pk")
        .values_list("container_id", "done_at_corrected", "quarters")
    )
    for container_id, done_at, quarters in rows:
        facts.looked[container_id].append(Looked(facts.day_of(done_at), quarters))


def _found(facts: StockFacts) -> None:
    rows = (
        StockFinding.objects.filter(container_id__in=list(facts.containers))
        .standing()
        .filter(done_at_corrected__lte=facts.at)
        .order_by("done_at_corrected", "pk")
        .values_list("container_id", "what", "from_on", "to_on", "entered_at")
    )
    for container_id, what, start, end, said_at in rows:
        facts.found[container_id].append(Found(what, start, end, said_at))


def _portioned(facts: StockFacts, of_items: Q, tank_ids: Collection[int] | None) -> None:
    rows = FeederCalibration.objects.of(facts.showroom).standing()
    rows = rows.filter(of_items, done_at_corrected__lte=facts.at)
    if tank_ids is not None:
        rows = rows.filter(tank_id__in=tank_ids)
    for tank_id, item_id, done_at, mg_per_portion in rows.order_by(
        "done_at_corrected", "pk"
    ).values_list("tank_id", "item_id", "done_at_corrected", "mg_per_portion"):
        facts.portioned[tank_id, item_id].append(Portioned(facts.day_of(done_at), mg_per_portion))


def _asked(facts: StockFacts, of_items: Q) -> None:
    """Pieces that went: used, or missing at a count."""
    start, _ = day_bounds(facts.first_day, facts.showroom.tz, facts.showroom.cut_off_hour)
    rows = Movement.objects.of(facts.showroom).standing().filter(of_items)
    rows = rows.filter(
        item__dimension="piece",
        done_at_corrected__gte=start,
        done_at_corrected__lte=facts.at,
    )
    for item_id, kind, done_at, amount in rows.order_by("done_at_corrected", "pk").values_list(
        "item_id", "kind", "done_at_corrected", "amount_base"
    ):
        day = facts.day_of(done_at)
        went = max(0, -amount) if kind in {MovementKind.USE, MovementKind.COUNT} else 0
        facts.asked[item_id][day] += went
