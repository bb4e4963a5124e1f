"""What was said of every tank that decides whether it is fit for a camera? Constant queries."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime

from gallery_ops.kernel.models import Showroom
from tanks.models import GateWord, Layout, Reading
from tanks.science.gates import Said


@dataclass(slots=True)
class Words:
    """Of one tank: the last algae score, what was said at the gate to the show, the day meant."""

    algae: float | None = None
    said: dict[str, Said] = field(default_factory=dict)
    show_on: date | None = None


def words_by_tank(showroom: Showroom, at: datetime) -> dict[int, Words]:
    """Tank -> what was said of the layout that stands in it; three queries."""
    found: dict[int, Words] = defaultdict(Words)
    standing = Layout.objects.of(showroom).filter(voided_at=None).at(at)
    since: dict[int, datetime] = {}
    layouts: set[int] = set()
    for key, tank_id, from_at, show_on in standing.values_list(
        "pk", "tank_id", "from_at", "brief__target_show_on"
    ):
        layouts.add(key)
        since[tank_id] = from_at
        found[tank_id].show_on = show_on
    scores = (
        Reading.objects.of(showroom)
        .standing()
        .filter(parameter__key="algae_score", value__isnull=False, done_at_corrected__lte=at)
        .order_by("done_at_corrected", "pk")
    )
    for tank_id, value, done_at in scores.values_list("tank_id", "value", "done_at_corrected"):
        if tank_id in since and done_at >= since[tank_id]:
            found[tank_id].algae = value
    words = (
        GateWord.objects.of(showroom)
        .standing()
        .filter(gate="G7", layout__isnull=False, done_at_corrected__lte=at)
        .order_by("done_at_corrected", "pk")
    )
    for row in words:
        if row.layout_id in layouts:
            found[row.tank_id].said[row.key] = Said(
                at=row.done_at_corrected,
                was_so=row.was_so,
                number=row.number,
                text=row.text,
                let_pass=row.let_pass,
            )
    return found
