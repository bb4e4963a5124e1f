"""The outbox of a tablet comes in as a file: judged as if sent, never counted twice.

Beside each refusal stands what somebody could really choose: a picture, half a copy, a file of
another gallery.
"""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.uuid7 import uuid7
from inventory.models import Use
from maintenance.actions.saved_file import MOST_FILE_BYTES, bring_in_saved, read_saved
from maintenance.models import Action
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer, a_house


def a_file(actions: list[Any], **fields: Any) -> bytes:
    file = {
        "format": "gallery-ops-outbox", "schema": 1, "device_id": "x", "epoch": "e",
        "saved_at": AT.isoformat(), "offset_ms": 0, "entries": len(actions), "actions": actions,
        **fields,
    }  # fmt: skip
    return json.dumps(file).encode()


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not_json"),
        (b"", "not_json"),
        (b"[" * 200_000, "not_json"),
        (b" " * (MOST_FILE_BYTES + 1), "too_large"),
        (a_file([{}] * 1_001), "too_large"),
        (a_file([{"a": 1}, {"b": 2}])[:-20], "half"),
        (a_file([{}], entries=2), "half"),
        (b'{"tanks": []}', "not_ours"),
        (b"[1, 2]", "not_ours"),
        (b'"gallery-ops-outbox"', "not_ours"),
        (a_file([]).replace(b"[]", b"{}"), "not_ours"),
    ],
)
def test_what_is_no_whole_outbox_is_refused_with_a_sentence(data: bytes, code: str) -> None:
    with pytest.raises(Refused) as no:
        read_saved(data)
    assert no.value.code == code
    assert no.value.sentence.endswith(".")
    assert no.value.remedy


@pytest.mark.parametrize("said", [None, True, "5", 1.5, 10**15, -(10**15)])
def test_a_clock_that_was_not_measured_corrects_nothing(said: object) -> None:
    assert read_saved(a_file([], offset_ms=said)).offset == timedelta(0)


def test_a_measured_clock_is_believed() -> None:
    assert read_saved(a_file([], offset_ms=10_800_000)).offset == timedelta(hours=3)


@pytest.fixture
def morning(db: None) -> Morning:
    return a_morning()


@pytest.fixture
def boss(morning: Morning) -> Membership:
    return a_carer(morning.house, "Iskra Vane", "C3", role="manager")


def bring(morning: Morning, by: Membership, data: bytes) -> list[str]:
    judged = bring_in_saved(
        showroom=morning.house.showroom, by=by, saved=read_saved(data), at=AT + timedelta(hours=2)
    )
    return [one.answer.verdict for one in judged]


def test_each_entry_counts_once_by_whatever_way_and_however_often(
    morning: Morning, boss: Membership
) -> None:
    first, second = (morning.action("note", {"text": t, "tank": None}) for t in ("one", "two"))
    assert [answer.verdict for answer in morning.send([first])] == ["accepted"]
    changed = {**first, "body": {"text": "other", "tank": None}}
    data = a_file([first, second, changed, {"no": "action"}], device_id=str(morning.tablet.uid))
    assert bring(morning, boss, data) == ["duplicate", "accepted", "differs", "malformed"]
    assert bring(morning, boss, data) == ["duplicate", "duplicate", "differs", "malformed"]
    assert [answer.verdict for answer in morning.send([second])] == ["duplicate"]
    assert Action.objects.filter(action_id=second["action_id"]).count() == 1


def test_the_tablets_clock_is_corrected_by_what_it_measured(
    morning: Morning, boss: Membership
) -> None:
    slow = AT - timedelta(hours=3)
    action = morning.action("note", {"text": "slow", "tank": None}, done_at=slow)
    bring(morning, boss, a_file([action], device_id=str(morning.tablet.uid), offset_ms=10_800_000))
    assert Action.objects.get(action_id=action["action_id"]).done_at_corrected == AT


def test_a_file_of_another_gallery_is_refused_and_nothing_is_kept(
    morning: Morning, boss: Membership
) -> None:
    action = morning.action("note", {"text": "one", "tank": None})
    for device in (str(uuid7(AT)), "no device"):
        with pytest.raises(Refused) as no:
            bring(morning, boss, a_file([action], device_id=device))
        assert no.value.code == "foreign"
    other = a_carer(a_house(code="other"), "Ada Fenn", "C3", role="manager")
    with pytest.raises(Unknown):
        bring(morning, other, a_file([action], device_id=str(morning.tablet.uid)))
    assert not Action.objects.filter(action_id=action["action_id"]).exists()


def test_at_a_desk_only_its_own_entries_come_in_and_a_carer_brings_in_none(
    morning: Morning, boss: Membership
) -> None:
    mine = morning.action("note", {"text": "m", "tank": None}, person_id=str(boss.person.uid))
    data = a_file([mine, morning.action("note", {"text": "o", "tank": None})], device_id="desk")
    assert bring(morning, boss, data) == ["accepted", "held"]
    with pytest.raises(Forbidden):
        bring(morning, morning.carer, data)
    assert not Use.objects.exists()
