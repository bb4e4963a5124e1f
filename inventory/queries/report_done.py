"""What was done about an item whose projections were wrong: what was weighed, what is asked?"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from django.db.models import F

from gallery_ops.kernel.models import Alert, Fact, Showroom
from inventory.models import Container, FeederCalibration, PressCalibration
from inventory.queries.keys import parse_key

SHOWN_DAYS = 365
What = Literal["pump_weighed", "feeder_weighed", "pump_asked", "why_asked", "count_asked"]
ASKED: dict[str, What] = {
    "press_off": "pump_asked",
    "variance": "why_asked",
    "stock_finding": "why_asked",
    "below_nothing": "count_asked",
}


@dataclass(frozen=True, slots=True)
class Done:
    """Something weighed by a person, or asked for by an alert that stands, since a moment."""

    what: What
    at: datetime
    who: str = ""


def done_about(showroom: Showroom, at: datetime) -> dict[int, tuple[Done, ...]]:
    """By item id, newest first, each sort once; four queries."""
    found: dict[int, dict[What, Done]] = defaultdict(dict)
    since = at - timedelta(days=SHOWN_DAYS)
    weighed: tuple[tuple[What, type[Fact], str], ...] = (
        ("pump_weighed", PressCalibration, "container__item_id"),
        ("feeder_weighed", FeederCalibration, "item_id"),
    )
    for what, model, item in weighed:
        rows = (
            model.objects.of(showroom)
            .standing()
            .filter(done_at_corrected__gte=since, done_at_corrected__lte=at)
            .order_by("done_at_corrected", "pk")
            .values_list(F(item), "done_at_corrected", "person__name")
        )
        for item_id, done_at, name in rows:
            found[item_id][what] = Done(what, done_at, name or "")
    for item_id, what, opened_at in _asked(showroom):
        found[item_id].setdefault(what, Done(what, opened_at))
    return {
        item_id: tuple(sorted(told.values(), key=lambda one: one.at, reverse=True))
        for item_id, told in found.items()
    }


def _asked(showroom: Showroom) -> list[tuple[int, What, datetime]]:
    """What open alerts ask for, the oldest first."""
    alerts = (
        Alert.objects.of(showroom)
        .filter(closed_at=None, kind__in=ASKED)
        .order_by("opened_at", "pk")
        .values_list("kind", "subject_key", "opened_at")
    )
    named = [(kind, parse_key(key), opened_at) for kind, key, opened_at in alerts]
    containers = [key[1] for _, key, _ in named if key is not None and key[0] == "container"]
    item_of = dict(
        Container.objects.of(showroom)
        .filter(pk__in=containers)
        .order_by("pk")
        .values_list("pk", "item_id")
    )
    out: list[tuple[int, What, datetime]] = []
    for kind, key, opened_at in named:
        if key is None:
            continue
        item_id = key[1] if key[0] == "item" else item_of.get(key[1])
        if item_id is not None:
            out.append((item_id, ASKED[kind], opened_at))
    return out
