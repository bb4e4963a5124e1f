"""Who changed what? Writes the lines of the audit trail, in the transaction of the change
itself."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, is_dataclass
from datetime import datetime
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from gallery_ops.kernel.models import AuditEntry, Membership, Person, Showroom, ShowroomRow


class _Encoder(DjangoJSONEncoder):
    """Amounts as their fields, rows by their name, sets in order, all else as Django does."""

    def default(self, value: Any) -> Any:
        if is_dataclass(value) and not isinstance(value, type):
            return asdict(value)
        if isinstance(value, models.Model):
            return str(value)
        if isinstance(value, set | frozenset):
            return sorted(value)
        return super().default(value)


def plain(value: Any) -> Any:
    """The value as JSON keeps it: instants and dates as ISO 8601, amounts as their fields."""
    return json.loads(json.dumps(value, cls=_Encoder))


def record_audit(
    *,
    showroom: Showroom,
    by: Membership | Person | None,
    at: datetime,
    deed: str,
    subject_kind: str,
    subject_key: str,
    before: Any = None,
    after: Any = None,
    reason: str = "",
    reference: str = "",
) -> AuditEntry:
    """Write one line.

    Parameters
    ----------
    by : who did it; None for what the program did by itself
    deed : stable word such as ``device.revoke``
    subject_kind, subject_key : what it was done to, such as ``tank`` and ``T11``
    before, after : what is worth seeing of both; secrets never
    reference : joins the lines of one import or one action
    """
    person = by.person if isinstance(by, Membership) else by
    entry: AuditEntry = AuditEntry.objects.create(
        showroom=showroom,
        at=at,
        person=person,
        deed=deed,
        subject_kind=subject_kind,
        subject_key=subject_key,
        before=plain(before),
        after=plain(after),
        reason=reason[:300],
        reference=reference,
    )
    return entry


def record(
    *,
    by: Membership | Person | None,
    at: datetime,
    deed: str,
    subject: ShowroomRow,
    before: Any = None,
    after: Any = None,
    reason: str = "",
    reference: str = "",
) -> AuditEntry:
    """Write one line about a row of a showroom; its kind and key are read off it."""
    return record_audit(
        showroom=subject.showroom,
        by=by,
        at=at,
        deed=deed,
        subject_kind=subject._meta.model_name or "",
        subject_key=str(subject.pk),
        before=before,
        after=after,
        reason=reason,
        reference=reference,
    )


def changed(
    before: Mapping[str, Any], after: Mapping[str, Any]
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Only the keys that differ, of both.

    >>> changed({"a": 1, "b": 2}, {"a": 1, "b": 3})
    ({'b': 2}, {'b': 3})
    """
    keys = [key for key in {**before, **after} if before.get(key) != after.get(key)]
    return {key: before.get(key) for key in keys}, {key: after.get(key) for key in keys}
