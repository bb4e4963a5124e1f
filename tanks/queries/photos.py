"""Which pictures were kept of a thing?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from uuid import UUID

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from tanks.models import Photo


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
