"""How many minutes of work did the layout that stands in each tank get so far?"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Count, F, Q, Sum

from gallery_ops.kernel.models import Showroom
from maintenance.models import Completion, TaskTemplate
from maintenance.queries.due import minutes_planned
from tanks.models import Tank


@dataclass(slots=True)
class Given:
    """Minutes written down, and planned minutes of the times when nobody wrote any."""

    said: Decimal = Decimal(0)
    planned: Decimal = Decimal(0)

    @property
    def total(self) -> Decimal:
        """Both."""
        return self.said + self.planned


def minutes_given(showroom: Showroom, at: datetime) -> dict[int, Given]:
    """Tank -> minutes since its layout began; three queries."""
    rows = (
        Completion.objects.of(showroom)
        .standing()
        .filter(
            due_task__tank__layouts__to_at=None,
            due_task__tank__layouts__voided_at=None,
            done_at_corrected__gte=F("due_task__tank__layouts__from_at"),
            done_at_corrected__lte=at,
        )
        .order_by()
        .values("due_task__tank_id", "due_task__template_id")
        .annotate(said=Sum("minutes"), unsaid=Count("pk", filter=Q(minutes=None)))
        .values_list("due_task__tank_id", "due_task__template_id", "said", "unsaid")
    )
    stored = dict(TaskTemplate.objects.of(showroom).values_list("pk", "minutes_by_size"))
    outer_l = {
        pk: length * width * height / 1e6
        for pk, length, width, height in Tank.objects.of(showroom).values_list(
            "pk", "length_mm", "width_mm", "height_mm"
        )
    }
    found: dict[int, Given] = defaultdict(Given)
    for tank_id, template_id, said, unsaid in rows:
        one = found[tank_id]
        one.said += said or 0
        one.planned += unsaid * minutes_planned(stored[template_id], outer_l.get(tank_id))
    return dict(found)
