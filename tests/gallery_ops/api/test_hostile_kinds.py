"""A hostile device with corrections, handovers, photos and emergencies, and at the tablet's doors.

Each field in turn becomes what it must not be, by chance with a seed, or the name of something in
another gallery. Nothing of it is a fault, and what is in the books afterwards was accepted.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from gallery_ops.kernel.models import SignInTry
from gallery_ops.kernel.values.uuid7 import uuid7
from inventory.models import Use
from maintenance.models import Action, HandoverLine, HandoverRead, Incident, IncidentStep
from tanks.models import Photo, Room
from tests.built_once import built_once
from tests.gallery_ops.api.asking import (
    AT,
    OWN,
    a_batch,
    a_dose,
    a_morning,
    a_tablet,
    an_action,
    enrolled,
    send,
    verdicts,
    where,
)
from tests.maintenance.house import House

pytestmark = pytest.mark.django_db
Raw = dict[str, Any]
ODD: list[Any] = [
    None, True, -1, 0, 2**63, 10**30, 1.5, 1e308, "", " ", "x" * 9000, "\0", "a\0b", "\ud800", [],
    {}, [[]], {"a": {}}, "019526a1-0000-7000-8000-000000000000", "1970-01-01T00:00:00Z", "../..",
    "9999-99-99", json.loads("[" * 60 + "]" * 60),
]  # fmt: skip
DIGEST = "ab" * 32
CARD = {"incident": "01956c3e-0000-7000-8000-000000000001", "card": "gasping", "drill": False}
WROTE = {"step": "wrote", "line": None, "text": "Pump rattles", "place": None}


def _build() -> tuple[House, House]:
    return a_morning(tanks=1), a_morning("quayside", tanks=1)


built, houses = built_once(_build)


@pytest.fixture
def house(houses: tuple[House, House]) -> House:
    return houses[0]


def a_line(house: House, **body: Any) -> Raw:
    told = {"line": "do", "text": "Look again.", "tank": "T01", "by": "2026-03-13", "source": None,
            "entry": None, "handed_to": None, **body}  # fmt: skip
    return an_action(house, "handover_line", told)


def a_read(house: House, line: str) -> Raw:
    return an_action(house, "handover_read", {"line": line})


def a_photo(house: House, **fields: Any) -> Raw:
    told = {"sha256": DIGEST, "size_bytes": 900, "media_type": "image/jpeg", "viewpoint": "front",
            "entry": None}  # fmt: skip
    stop = where(house, "T01", "dose")["stop_id"]
    return an_action(house, "photo", told, **{"stop_id": stop, **fields})


def a_tap(house: House, kind: str = "incident_step", **more: Any) -> Raw:
    said = {
        "incident_open": {"place": {"kind": "tank", "key": "T01"}},
        "incident_step": WROTE,
        "incident_close": {"how": "over", "decided_by": "Maud Ellerkamp"},
    }[kind]
    return an_action(house, kind, {**CARD, **said, **more})


def a_correction(house: House, wanted: str, kind: str = "amend") -> Raw:
    told = {
        "amend": {"amends": wanted, "changes": {"given_ul": 2000}},
        "move_record": {"moves": wanted, "tank": "T01"},
    }[kind]
    return an_action(house, kind, {**told, "reason": "typed wrong"}, corrects=wanted)


def kinds_of(house: House, dose: str, line: str) -> list[Callable[[], Raw]]:
    return [
        lambda: a_line(house),
        lambda: a_read(house, line),
        lambda: a_photo(house),
        lambda: a_tap(house, "incident_open"),
        lambda: a_tap(house),
        lambda: a_tap(house, "incident_close"),
        lambda: a_correction(house, dose),
        lambda: a_correction(house, dose, "move_record"),
    ]


def _facts() -> dict[str, set[str]]:
    """Kind of row -> the actions it came from."""
    rows = {"line": HandoverLine, "read": HandoverRead, "tap": IncidentStep, "photo": Photo}
    return {
        name: {str(key) for key in model.objects.values_list("action_id", flat=True)}
        for name, model in rows.items()
    }


def test_damaged_entries_of_every_new_kind_are_told_apart_and_no_fault(house: House) -> None:
    tablet = enrolled(house)
    client, uid = a_tablet(tablet), str(tablet.device.uid)
    dose, line = a_dose(house), a_line(house)
    assert verdicts(send(client, a_batch(uid, dose, line))) == ["accepted"] * 2
    chance, said = random.Random(13), dict[str, str]()
    made = kinds_of(house, dose["action_id"], line["action_id"])
    for _ in range(2):
        actions = [make() for make in made * 12]
        for action in actions:
            part = chance.choice([action, action["body"], action["body"]])
            if isinstance(part.get("place"), dict) and chance.random() < 0.5:
                part = part["place"]
            part[chance.choice(list(part))] = chance.choice(ODD)
        answer = send(client, a_batch(uid, *actions))
        found = verdicts(answer)
        assert len(found) == len(actions)
        said |= {
            str(one["action_id"]): one["verdict"]
            for one in answer.json()["verdicts"]
            if one["action_id"]
        }
        assert set(found) <= {"accepted", "duplicate", "held", "malformed", "differs"}
    assert list(said.values()).count("malformed") > 20
    good = {key for key, verdict in said.items() if verdict in {"accepted", "duplicate"}}
    for name, came_from in _facts().items():
        assert came_from <= good | {line["action_id"]}, name
    assert all(len(row.text) <= 300 and row.line in {None, *range(1, 8)}
               for row in IncidentStep.objects.all())  # fmt: skip
    assert all(0 < row.size_bytes <= 12 * 2**20 for row in Photo.objects.all())
    standing = [use.given_base for use in Use.objects.standing()]
    assert len(standing) == 1
    assert 0 <= standing[0] <= 3000


def test_names_of_another_gallery_reach_nothing_there(houses: tuple[House, House]) -> None:
    house, other = houses
    their_tablet = enrolled(other)
    theirs, their_uid = a_tablet(their_tablet), str(their_tablet.device.uid)
    dose, line, tap = a_dose(other), a_line(other), a_tap(other, "incident_open")
    assert verdicts(send(theirs, a_batch(their_uid, dose, line, tap))) == ["accepted"] * 3
    before = _facts(), Use.objects.standing().count(), Incident.objects.get().closed_at
    room = str(Room.objects.get(showroom=other.showroom).uid)
    own = {"incident": str(uuid7(AT))}
    hostile = [
        a_correction(house, dose["action_id"]),
        a_correction(house, dose["action_id"], "move_record"),
        a_read(house, line["action_id"]),
        a_tap(house, "incident_close"),
        a_tap(house, **own, step="place", text=None, place={"kind": "room", "key": room}),
        a_line(house, handed_to=str(other.owner.person.uid)),
        a_photo(house, stop_id=where(other, "T01", "dose")["stop_id"]),
        a_photo(house, round_id=dose["round_id"], stop_id=dose["stop_id"]),
        a_line(house) | {"person_id": str(other.owner.person.uid)},
    ]
    tablet = enrolled(house)
    found = verdicts(send(a_tablet(tablet), a_batch(str(tablet.device.uid), *hostile)))
    assert found == ["held"] * len(hostile)
    after = _facts(), Use.objects.standing().count(), Incident.objects.get().closed_at
    assert after == before
    assert Action.objects.filter(showroom=other.showroom).count() == 3


DOORS = {
    "sign-in": {"person_id": "019526a1-0000-7000-8000-000000000000", "pin": "294063"},
    "tries": {"tries": [{"person_id": "019526a1-0000-7000-8000-000000000000",
                         "at": "2026-03-12T07:00:00Z", "right": False, "salt": "00"}]},
}  # fmt: skip
BODIES = [b"", b"[]", b"null", b"7", b'{"a":' * 50_000, b"[" * 90_000, b"\xff\xfe", b'{"pin": NaN}']


@pytest.mark.parametrize("door", DOORS)
def test_the_doors_of_a_tablet_take_nothing_odd(house: House, door: str) -> None:
    client, address = a_tablet(enrolled(house)), f"/api/v1/tablet/{door}"

    def told(body: bytes) -> int:
        return client.post(
            address, body, content_type="application/json", headers=OWN
        ).status_code  # fmt: skip

    for body in BODIES:
        assert told(body) == 400, body[:40]
    assert told(b"x" * (2**20 + 1)) == 413
    good = DOORS[door]
    for field in ("person_id", "pin", "at", "right", "salt", "tries"):
        for odd in ODD:
            damaged = json.loads(json.dumps(good))
            part = damaged["tries"][0] if door == "tries" and field != "tries" else damaged
            if field in part:
                part[field] = odd
                assert told(json.dumps(damaged).encode()) in {200, 400, 404}, (field, odd)
    if door == "tries":
        assert told(json.dumps({"tries": good["tries"] * 10_000}).encode()) in {400, 413}
    assert not SignInTry.objects.exists()


def test_emergencies_and_photos_answer_odd_questions(house: House) -> None:
    client = a_tablet(enrolled(house))
    for body in BODIES:
        asked = client.post("/api/v1/emergencies", body, content_type="application/json")
        assert asked.status_code in {401, 403, 405}
    assert Client().get("/api/v1/emergencies").status_code == 401
    for name in ("\0", "%00", "a" * 63 + "\u0430", "..%2f..", "9" * 5000):
        for said in ("bytes 0-0/1", "bytes 0-999999999999/999999999999", "bytes \u0660-1/2", "\0"):
            answer = client.put(
                f"/api/v1/photos/{name}", b"x", content_type="application/octet-stream",
                headers={**OWN, "Content-Range": said},
            )  # fmt: skip
            assert answer.status_code in {400, 404}, (name, said)
    assert not Photo.objects.exists()
