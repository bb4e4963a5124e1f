"""Which containers get a label, and what stands on it?"""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import QuerySet

from gallery_ops.kernel.models import Showroom
from inventory.models import Container


def labels(showroom: Showroom, wanted: Iterable[str] = (), item: str = "") -> QuerySet[Container]:
    """Containers with these codes, or of this item, or all that are here; by item and code."""
    rows = (
        Container.objects.of(showroom)
        .filter(finished_on=None, voided_at=None)
        .select_related("item", "lot", "cylinder")
        .order_by("item__name", "code")
    )
    codes = {code.replace(" ", "").upper() for code in wanted if code.strip()}
    if codes:
        rows = rows.filter(code__in=codes)
    found: QuerySet[Container] = rows.filter(item__code=item) if item else rows
    return found
