"""Which files were brought in, and has anything been written on a tank since?"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from maintenance.models import Completion, ImportRun, Observation, Skip
from tanks.models import Tank


def standing_import(showroom: Showroom, sha256: str) -> ImportRun | None:
    """The import of this very file that was not taken back, or None."""
    found: ImportRun | None = (
        ImportRun.objects.of(showroom)
        .filter(sha256=sha256, undone_at=None)
        .select_related("person")
        .first()
    )
    return found


def import_of(showroom: Showroom, sha256: str) -> ImportRun:
    """The same; raises Unknown where there is none."""
    found = standing_import(showroom, sha256)
    if found is None:
        raise Unknown("import")
    return found


def latest_imports(showroom: Showroom, since: datetime) -> list[ImportRun]:
    """Imports from ``since`` on that stand, newest first."""
    rows = ImportRun.objects.of(showroom).filter(undone_at=None, at__gte=since)
    return list(rows.select_related("person").order_by("-at", "-pk"))


def written_since(showroom: Showroom, tanks: Iterable[Tank], since: datetime) -> dict[int, str]:
    """Tank id -> what was written on it after ``since``: a task done or skipped, something seen."""
    ids = [tank.pk for tank in tanks]
    found: dict[int, str] = {}
    for model, path, words in (
        (Observation, "tank", "something seen"),
        (Skip, "due_task__tank", "a task skipped"),
        (Completion, "due_task__tank", "a task done"),
    ):
        rows = model.objects.of(showroom).filter(**{f"{path}__in": ids}, entered_at__gt=since)
        found.update(dict.fromkeys(rows.values_list(f"{path}_id", flat=True), words))
    return found
