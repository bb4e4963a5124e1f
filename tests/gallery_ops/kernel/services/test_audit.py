"""Does the audit trail say who changed what, in values that can be kept?"""

import uuid
from datetime import date
from decimal import Decimal

import pytest

from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.services.audit import changed, plain, record, record_audit
from gallery_ops.kernel.values.quantity import Volume
from tests.builders.people import AT, a_device, a_showroom, an_owner


def test_values_are_kept_as_json() -> None:
    identity = uuid.UUID(int=7)
    assert plain(
        {"on": date(2026, 3, 12), "at": AT, "much": Volume(3000), "is": identity, "x": {"b", "a"}}
    ) == {
        "on": "2026-03-12",
        "at": "2026-03-12T08:00:00Z",
        "much": {"ul": 3000},
        "is": str(identity),
        "x": ["a", "b"],
    }
    assert plain(Decimal("0.1")) == "0.1"


@pytest.mark.django_db
def test_a_line_says_who_did_what_to_which_row() -> None:
    owner = an_owner(a_showroom())
    device = a_device(owner)
    line = record(by=owner, at=AT, deed="device.rename", subject=device, before={"name": "a"})
    assert (line.showroom, line.person) == (owner.showroom, owner.person)
    assert (line.subject_kind, line.subject_key) == ("device", str(device.pk))
    line = record_audit(
        showroom=owner.showroom,
        by=None,
        at=AT,
        deed="x",
        subject_kind="tank",
        subject_key="T11",
        reason="r" * 400,
        reference="import-1",
    )
    assert (line.person, len(line.reason)) == (None, 300)
    assert AuditEntry.objects.of(owner.showroom).filter(reference="import-1").count() == 1


def test_only_what_differs_is_shown() -> None:
    assert changed({"a": 1, "b": 2}, {"a": 1, "b": 3, "c": 4}) == (
        {"b": 2, "c": None},
        {"b": 3, "c": 4},
    )
