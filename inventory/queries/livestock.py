"""How many animals of which kind are in which tank? A count is the sum of movements."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Max, Sum

from gallery_ops.kernel.models import Showroom
from inventory.models import LivestockBatch, LivestockMovement
from tanks.models import Tank


@dataclass(frozen=True, slots=True)
class Head:
    """So many animals of one batch in one tank.

    ``touched_at`` is when anybody last moved or counted them; ``certainty`` what was said then.
    """

    tank_id: int
    batch_id: int
    species_id: int
    scientific_name: str
    vernacular_name: str
    count: int
    touched_at: datetime | None
    certainty: str

    @property
    def name(self) -> str:
        """As people call it."""
        return self.vernacular_name or self.scientific_name


def heads(
    showroom: Showroom,
    at: datetime | None = None,
    *,
    tank_ids: Iterable[int] | None = None,
    with_none: bool = False,
) -> list[Head]:
    """Counts per tank and batch at a moment (None: with all that is known), in four queries.

    Tanks whose count came to 0 are left out unless ``with_none``.
    """
    rows = LivestockMovement.objects.of(showroom)
    if at is not None:
        rows = rows.filter(done_at_corrected__lte=at)
    wanted = set(tank_ids) if tank_ids is not None else None
    sums: dict[tuple[int, int], int] = {}
    last: dict[tuple[int, int], int] = {}
    for side, sign in (("tank_to", 1), ("tank_from", -1)):
        here = {f"{side}__isnull": False} if wanted is None else {f"{side}__in": wanted}
        grouped = (
            rows.filter(**here)
            .values(f"{side}_id", "batch_id")
            .annotate(total=Sum("count"), newest=Max("pk"))
            .order_by()
        )
        for row in grouped:
            key = (row[f"{side}_id"], row["batch_id"])
            sums[key] = sums.get(key, 0) + sign * row["total"]
            last[key] = max(last.get(key, 0), row["newest"])
    batches = {
        row.pk: row
        for row in LivestockBatch.objects.of(showroom)
        .filter(voided_at=None)
        .select_related("species")
    }
    newest = {row.pk: row for row in LivestockMovement.objects.filter(pk__in=list(last.values()))}
    return [
        _head(key, count, batches[key[1]], newest[last[key]])
        for key, count in sorted(sums.items())
        if key[1] in batches and (count or with_none) and (wanted is None or key[0] in wanted)
    ]


def heads_by_tank(showroom: Showroom, at: datetime | None = None) -> dict[int, list[Head]]:
    """The same by tank id."""
    found: dict[int, list[Head]] = {}
    for row in heads(showroom, at):
        found.setdefault(row.tank_id, []).append(row)
    return found


def head_count(batch: LivestockBatch, tank: Tank, at: datetime | None = None) -> int:
    """How many of one batch are in one tank."""
    rows = LivestockMovement.objects.of(batch.showroom).filter(batch=batch)
    if at is not None:
        rows = rows.filter(done_at_corrected__lte=at)
    came = rows.filter(tank_to=tank).aggregate(total=Sum("count"))["total"] or 0
    left = rows.filter(tank_from=tank).aggregate(total=Sum("count"))["total"] or 0
    return int(came) - int(left)


def last_arrival(tank: Tank, since: datetime) -> datetime | None:
    """When animals came into this tank last since a moment, from outside or from another tank."""
    newest: datetime | None = (
        LivestockMovement.objects.standing()
        .filter(tank_to=tank, kind__in=("arrive", "move"), done_at_corrected__gte=since)
        .aggregate(newest=Max("done_at_corrected"))["newest"]
    )
    return newest


def last_arrivals(showroom: Showroom, at: datetime) -> dict[int, datetime]:
    """Tank -> when animals came into it last, from outside or from another tank; one query."""
    rows = (
        LivestockMovement.objects.of(showroom)
        .standing()
        .filter(kind__in=("arrive", "move"), tank_to__isnull=False, done_at_corrected__lte=at)
        .order_by()
        .values("tank_to_id")
        .annotate(newest=Max("done_at_corrected"))
    )
    return dict(rows.values_list("tank_to_id", "newest"))


def moved_between(
    showroom: Showroom, since: datetime, at: datetime
) -> list[tuple[int, datetime, str, str]]:
    """Tank, moment, words and person of each coming and going of animals; one query."""
    rows = (
        LivestockMovement.objects.of(showroom)
        .standing()
        .filter(done_at_corrected__gt=since, done_at_corrected__lte=at)
        .select_related("batch__species", "person")
        .order_by("done_at_corrected", "pk")
    )
    found = []
    for row in rows:
        name = row.batch.species.vernacular_name or row.batch.species.scientific_name
        words = f"{row.count} {name}: {row.get_kind_display()}."
        for tank_id in dict.fromkeys((row.tank_from_id, row.tank_to_id)):
            if tank_id is not None:
                found.append((tank_id, row.done_at_corrected, words, row.person.name))
    return found


def _head(
    key: tuple[int, int], count: int, batch: LivestockBatch, newest: LivestockMovement
) -> Head:
    return Head(
        tank_id=key[0],
        batch_id=key[1],
        species_id=batch.species_id,
        scientific_name=batch.species.scientific_name,
        vernacular_name=batch.species.vernacular_name,
        count=count,
        touched_at=newest.done_at_corrected,
        certainty=newest.certainty,
    )
