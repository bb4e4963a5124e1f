"""Which pictures were kept of a thing, and what was said of them?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Prefetch

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from tanks.models import Photo, PhotoReview, Tank

MOST_SHOWN = 120


@dataclass(frozen=True, slots=True)
class Looked:
    """A photo of a tank and every look at it, the newest first."""

    photo: Photo
    reviews: tuple[PhotoReview, ...]

    @property
    def last(self) -> PhotoReview | None:
        """The look that holds."""
        return self.reviews[0] if self.reviews else None

    @property
    def outcome(self) -> str:
        """``new`` where nobody looked since it came to this tank."""
        last = self.last
        if last is None or (last.outcome == "wrong" and last.to_tank_id == self.photo.tank_id):
            return "new"
        return str(last.outcome)


def photos_of(showroom: Showroom, subjects: Iterable[str]) -> dict[str, list[Photo]]:
    """By subject, the oldest first; only those of which all bytes are here. One query."""
    found: dict[str, list[Photo]] = defaultdict(list)
    rows = Photo.objects.of(showroom).filter(subject__in=list(subjects), whole_at__isnull=False)
    for row in rows.select_related("taken_by").order_by("taken_at", "pk"):
        found[row.subject].append(row)
    return found


def photo_of(showroom: Showroom, uid: UUID) -> Photo:
    """The picture of this name for programs. Raises Unknown."""
    found: Photo | None = Photo.objects.of(showroom).filter(uid=uid, whole_at__isnull=False).first()
    if found is None:
        raise Unknown("photo")
    return found


def photos_of_tank(tank: Tank) -> list[Looked]:
    """The newest first, with those that are still on their way, without what was a slip; two
    queries.
    """
    rows = (
        Photo.objects.of(tank.showroom)
        .filter(tank=tank)
        .select_related("taken_by", "layout")
        .prefetch_related(Prefetch("reviews", queryset=_reviews(), to_attr="looks"))
        .order_by("-taken_at", "-pk")[:MOST_SHOWN]
    )
    found = [Looked(row, tuple(row.looks)) for row in rows]
    return [one for one in found if one.outcome != "undone"]


def taken_to_others(tank: Tank) -> list[PhotoReview]:
    """Looks that said that a photo of this tank shows another one, the newest first."""
    return list(_reviews().of(tank.showroom).filter(from_tank=tank, outcome="wrong")[:MOST_SHOWN])


def _reviews() -> Any:
    rows = PhotoReview.objects.select_related("person", "from_tank", "to_tank", "photo")
    return rows.order_by("-pk")
