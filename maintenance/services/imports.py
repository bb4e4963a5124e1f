"""A file was brought in: written down once, so that twice makes no doubles; and taken back."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from maintenance.models import ImportRun


@transaction.atomic
def begin_import(
    *,
    showroom: Showroom,
    sha256: str,
    file_name: str,
    rows: int,
    by: Membership,
    at: datetime,
) -> ImportRun:
    """Write down that this file comes in; what it makes is added when it is known.

    Raises
    ------
    Refused
        ``already_in`` when the same file stands already, also when it comes at the same moment.
    """
    require(by, "import", in_=showroom)
    try:
        with transaction.atomic():
            run: ImportRun = ImportRun.objects.create(
                showroom=showroom,
                sha256=sha256,
                file_name=file_name[:200],
                person=by.person,
                at=at,
                rows=rows,
            )
    except IntegrityError:
        raise Refused(
            "already_in",
            "This very file was brought in before, and it stands.",
            remedy="Change the file, or take that import back first.",
        ) from None
    return run


@transaction.atomic
def note_made(*, run: ImportRun, made: dict[str, Any], by: Membership, at: datetime) -> ImportRun:
    """Write down what the import made and what it changed, for taking it back."""
    run.made = made
    run.save(update_fields=["made"])
    audit.record(
        by=by,
        at=at,
        deed="import.done",
        subject=run,
        after={"file": run.file_name, "rows": run.rows},
    )
    return run


@transaction.atomic
def note_undone(*, run: ImportRun, by: Membership, at: datetime) -> ImportRun:
    """Write down that it was taken back; the same file may come in again."""
    require(by, "import", in_=run.showroom)
    run = ImportRun.objects.select_for_update().get(pk=run.pk)
    if run.undone_at is not None:
        raise Refused("already_undone", "This import was taken back already.")
    run.undone_at = at
    run.undone_by = by.person
    run.save(update_fields=["undone_at", "undone_by"])
    audit.record(by=by, at=at, deed="import.undone", subject=run, before={"file": run.file_name})
    return run
