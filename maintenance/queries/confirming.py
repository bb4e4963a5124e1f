"""Which work was signed for where nothing could prove it, and waits for somebody's word?"""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from maintenance.models import Completion


def to_confirm(showroom: Showroom) -> QuerySet[Any]:
    """Completions that stand and wait for a word, the oldest first. One query."""
    rows: QuerySet[Any] = (
        Completion.objects.of(showroom)
        .standing()
        .filter(to_confirm=True, confirmed__isnull=True)
        .select_related("due_task__template", "due_task__tank", "person", "device")
        .order_by("done_at_corrected", "pk")
    )
    return rows


def completion_to_confirm(showroom: Showroom, action_id: UUID, task: str) -> Completion:
    """The completion by this action of the task of this uid. Raises Unknown."""
    try:
        rows = Completion.objects.of(showroom).filter(
            action_id=action_id, due_task__uid=UUID(task), to_confirm=True, takes_back=False
        )
    except ValueError:
        raise Unknown(_("task")) from None
    found: Completion | None = rows.select_related(
        "due_task__template", "due_task__tank", "person", "showroom"
    ).first()
    if found is None:
        raise Unknown(_("task"))
    return found
