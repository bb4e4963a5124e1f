"""A hostile device: nothing is applied that should not be, and nothing is answered with 500."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest
from django.db import OperationalError
from django.test import Client
from rest_framework.exceptions import Throttled

from gallery_ops.api.views import outbox
from inventory.models import Movement, Use
from maintenance.models import Action, Observation
from tests.built_once import built_once
from tests.gallery_ops.api.asking import (
    OUTBOX,
    OWN,
    a_batch,
    a_browser,
    a_dose,
    a_morning,
    a_note,
    a_tablet,
    enrolled,
    is_problem,
    send,
    verdicts,
)
from tests.maintenance.house import House

pytestmark = pytest.mark.django_db


built, house = built_once(lambda: a_morning(tanks=1))


@pytest.fixture
def desk(house: House) -> Client:
    return a_browser(house.owner)


def nothing_was_written() -> bool:
    return not (Action.objects.exists() or Observation.objects.exists() or Use.objects.exists())


UNREADABLE: dict[str, bytes] = {
    "nothing": b"",
    "no json": b"hello",
    "half": b'{"device_id": "desk", "actions": [',
    "a list": b"[]",
    "a number": b"7",
    "null": b"null",
    "not utf-8": b'{"device_id": "\xff\xfe"}',
    "not a number": b'{"device_id": NaN}',
    "deep": b'{"actions": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
    "deep objects": b'{"a":' * 50_000 + b"1" + b"}" * 50_000,
    "long number": b'{"device_id": ' + b"9" * 10_000 + b"}",
    "no actions": b'{"device_id": "desk"}',
    "actions no list": json.dumps({**a_batch("desk"), "actions": {"a": 1}}).encode(),
    "too many": json.dumps({**a_batch("desk"), "actions": [1] * 101}).encode(),
    "extra": json.dumps({**a_batch("desk"), "more": 1}).encode(),
    "nul": b'{"device_id": "\\u0000"}',
    "sent in 1970": json.dumps(a_batch("desk", sent_at="1970-01-01T00:00:00Z")).encode(),
    "sent in 2150": json.dumps(a_batch("desk", sent_at="2150-01-01T00:00:00Z")).encode(),
    "sent on no day": json.dumps(a_batch("desk", sent_at="2026-02-31T00:00:00Z")).encode(),
    "sent without zone": json.dumps(a_batch("desk", sent_at="2026-03-12T08:08:00")).encode(),
    "boot id": json.dumps(a_batch("desk", boot_id="x")).encode(),
    "device as a list": json.dumps({**a_batch("desk"), "device_id": ["desk"]}).encode(),
}


@pytest.mark.parametrize("name", UNREADABLE)
def test_what_cannot_be_read_says_so(desk: Client, name: str) -> None:
    answer = desk.post(OUTBOX, UNREADABLE[name], content_type="application/json", headers=OWN)
    assert answer.status_code == 400, answer.content[:300]
    assert answer.json()["type"] in {"/problems/unreadable", "/problems/invalid"}
    assert nothing_was_written()


def test_ten_megabytes_are_refused_before_they_are_read(desk: Client) -> None:
    for size in (1024 * 1024 + 1, 10_000_000):
        answer = desk.post(OUTBOX, b"x" * size, content_type="application/json", headers=OWN)
        assert "1 MB" in is_problem(answer, 413, "too_large")["detail"]


def test_a_body_that_hides_its_length_is_not_read(desk: Client) -> None:
    answer = desk.post(
        OUTBOX, b"{}", content_type="application/json", headers=OWN, CONTENT_LENGTH="-5"
    )
    assert answer.status_code == 400


@pytest.mark.parametrize("kind", ["text/plain", "multipart/form-data; boundary=x", "", "a/b/c"])
def test_only_json_is_taken(desk: Client, kind: str) -> None:
    answer = desk.post(OUTBOX, b'{"a": 1}', content_type=kind, headers=OWN)
    is_problem(answer, 415, "unknown_media_type")


def test_a_thousand_damaged_actions_are_each_told_apart(house: House) -> None:
    """Each field of a good action in turn becomes something else; chance with a seed."""
    tablet = enrolled(house)
    client, uid = a_tablet(tablet), str(tablet.device.uid)
    chance = random.Random(11)
    odd: list[Any] = [
        None, True, -1, 0, 2**63, 10**30, 1.5, 1e308, "", "x" * 100, "\0", "\ud800", [], {}, [[]],
        {"a": {}}, "019526a1-0000-7000-8000-000000000000", "1970-01-01T00:00:00Z", "9999-99-99",
    ]  # fmt: skip
    for _ in range(10):
        actions = []
        for _ in range(100):
            action = chance.choice([a_note, a_dose])(house)
            part = chance.choice([action, action["body"]])
            part[chance.choice(list(part))] = chance.choice(odd)
            actions.append(action)
        answer = send(client, a_batch(uid, *actions))
        said = verdicts(answer)
        assert len(said) == 100
        assert set(said) <= {"accepted", "duplicate", "held", "malformed", "differs"}
    used = [row.amount_base for row in Movement.objects.filter(kind="use")]
    assert used
    assert -30_000 <= min(used) <= max(used) < 0


def test_random_json_is_never_a_fault(desk: Client) -> None:
    chance = random.Random(5)
    for _ in range(150):
        answer = send(desk, _random(chance, 4))
        assert answer.status_code in {200, 400, 403}, answer.content[:200]
        answer = send(desk, a_batch("desk", _random(chance, 4), _random(chance, 5)))
        assert verdicts(answer) == ["malformed", "malformed"]


def _random(chance: random.Random, depth: int) -> Any:
    kind = chance.randrange(8 if depth else 5)
    if kind == 5:
        return [_random(chance, depth - 1) for _ in range(chance.randrange(4))]
    if kind > 5:
        names = ["action_id", "kind", "body", "seq", "actions", "device_id", "x"]
        return {chance.choice(names): _random(chance, depth - 1) for _ in range(3)}
    return [None, chance.randrange(-9, 10**12), chance.random(), "text\u0000", True][kind]


def test_an_old_batch_played_again_by_another_tablet_changes_nothing(house: House) -> None:
    ours, thief = enrolled(house), enrolled(house)
    batch = a_batch(str(ours.device.uid), a_dose(house))
    assert verdicts(send(a_tablet(ours), batch)) == ["accepted"]
    is_problem(send(a_tablet(thief), batch), 403, "device_unknown")
    renamed = {**batch, "device_id": str(thief.device.uid)}
    assert verdicts(send(a_tablet(thief), renamed)) == ["duplicate"]
    assert Use.objects.count() == 1


def test_guessed_and_damaged_secrets_open_nothing(house: House) -> None:
    batch = a_batch("desk")
    for wrong in ("x", "", "x" * 100_000, "\u00fc", "a b c"):
        client = Client()
        client.cookies["gallery_device"] = wrong
        is_problem(send(client, batch), 401, "sign_in_first")
    for wrong in ("Bearer", "Bearer ", "Bearer " + "x" * 9000, "Basic eDp5", "bearer \u00fc"):
        headers = {**OWN, "Authorization": wrong}
        is_problem(send(Client(), batch, headers=headers), 401, "sign_in_first")


def test_our_own_fault_is_a_problem_with_a_number(
    desk: Client, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def breaks(**_said: Any) -> Any:
        raise RuntimeError("a defect with private words")

    monkeypatch.setattr(outbox, "apply_batch", breaks)
    fault = is_problem(send(desk, a_batch("desk")), 500, "fault")
    assert "private words" not in json.dumps(fault)
    assert "private words" in caplog.text


def test_a_busy_database_asks_to_come_again(desk: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def busy(**_said: Any) -> Any:
        raise OperationalError("database is locked")

    monkeypatch.setattr(outbox, "apply_batch", busy)
    answer = send(desk, a_batch("desk"))
    is_problem(answer, 503, "busy")
    assert answer["Retry-After"] == "2"


def test_a_database_without_its_tables_is_a_fault_and_not_a_busy_one(
    desk: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def bare(**_said: Any) -> Any:
        raise OperationalError("no such table: maintenance_action")

    monkeypatch.setattr(outbox, "apply_batch", bare)
    is_problem(send(desk, a_batch("desk")), 500, "fault")


def test_too_often_says_when_to_come_again(desk: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def slower(**_said: Any) -> Any:
        raise Throttled(wait=7)

    monkeypatch.setattr(outbox, "apply_batch", slower)
    answer = send(desk, a_batch("desk"))
    is_problem(answer, 429, "too_often")
    assert int(answer["Retry-After"]) >= 7
