"""Midday and closing: their stops, what completes them in any order, and who is told.

Two zones share the North Room in this gallery; zone B has more tanks in it, so it reads its air.
"""

from __future__ import annotations

import json
from copy import deepcopy
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gallery_ops.kernel.models import Alert, Device
from gallery_ops.kernel.values.uuid7 import uuid7
from maintenance.actions.apply import Answer, Sender, apply_batch
from maintenance.models import Action, DueTask, Observation, Round, Stop
from maintenance.queries.round_pack import round_pack
from maintenance.queries.rounds import rounds_of_day
from maintenance.services import due_tasks, overdue, quick_rounds
from maintenance.services.rounds import ensure_rounds
from maintenance.services.walked import complete_walked
from tanks.models import Room, RoomAirCheck
from tanks.services.catalogue import load_parameters
from tanks.services.equipment import put_on
from tanks.services.places import add_position, add_zone
from tests.builders import people
from tests.built_once import built_once
from tests.maintenance.house import FIRST_DAY, START, House, a_carer, a_house, a_tank, on

pytestmark = pytest.mark.django_db

MORNING = on(FIRST_DAY, "06:00")
NOON = on(FIRST_DAY, "13:05")
EVENING = on(FIRST_DAY, "18:20")


@dataclass
class Gallery:
    """The house, its carer, two tablets, and the rounds of the day by kind and zone."""

    house: House
    carer: Any
    tablets: list[Device]
    rounds: dict[tuple[str, str], Round]
    seq: list[int] = field(default_factory=lambda: [0, 0])

    def tap(
        self, kind: str, zone: str, stop: dict[str, Any], *, at: datetime, tablet: int = 0
    ) -> list[dict[str, Any]]:
        """What one tap on "Looked" says, and the figure of the meter where it is asked for."""
        round_ = self.rounds[kind, zone]
        look = next(task for task in stop["tasks"] if task["code"] == "look")
        body = {
            "check": stop["check"],
            "value": "all_normal",
            "looks": [look["look"] for look in stop["looks"]],
            "text": None,
            "unit": None,
            "asked_again": False,
        }
        said = [self._action("check", body, round_, stop, look["id"], at, tablet)]
        for asked in stop["readings"]:
            read = {"check": asked["parameter"], "value": "540", "text": "540", "unit": "ppm"}
            read |= {"look": None, "asked_again": False}
            said.append(self._action("check", read, round_, stop, asked["task"], at, tablet))
        return said

    def _action(
        self,
        kind: str,
        body: dict[str, Any],
        round_: Round,
        stop: dict[str, Any] | None,
        task: str | None,
        at: datetime,
        tablet: int = 0,
    ) -> dict[str, Any]:
        self.seq[tablet] += 1
        return {
            "action_id": str(uuid7(at)),
            "device_id": str(self.tablets[tablet].uid),
            "seq": self.seq[tablet],
            "schema": 1,
            "kind": kind,
            "round_id": str(round_.uid),
            "stop_id": stop["id"] if stop else None,
            "task_id": task,
            "person_id": str(self.carer.person.uid),
            "person_proof": "pin",
            "done_at": at.isoformat(),
            "monotonic_ms": self.seq[tablet],
            "boot_id": str(uuid7(at)),
            "plan_version": None,
            "corrects": None,
            "body": body,
        }

    def send(self, actions: list[dict[str, Any]], *, at: datetime, tablet: int = 0) -> list[str]:
        """Verdicts of a batch that arrives then."""
        sender = Sender(showroom=self.house.showroom, device=self.tablets[tablet])
        answers: list[Answer]
        answers, _up_to = apply_batch(sender=sender, actions=actions, sent_at=at, at=at)
        return [answer.verdict for answer in answers]

    def pack(self, kind: str, zone: str, at: datetime) -> dict[str, Any]:
        """What a tablet gets."""
        found: dict[str, Any] = round_pack(
            self.house.showroom, self.rounds[kind, zone], self.carer, at
        )
        return found

    def open_tasks(self, kind: str) -> int:
        """Tasks of that kind of round that are still to do today."""
        rows = DueTask.objects.of(self.house.showroom)
        return rows.filter(template__round_kind=kind, due_on=FIRST_DAY, state="open").count()

    def alerts(self, kind: str) -> list[Alert]:
        """Open alerts of that kind."""
        return list(Alert.objects.of(self.house.showroom).filter(kind=kind, closed_at=None))


def a_gallery() -> Gallery:
    """T01 in zone A; T02 and T03 in zone B; all in one room."""
    load_parameters()
    house = a_house()
    a_tank(house, "T01")
    first = house.positions["place of T01"]
    zone_b = add_zone(showroom=house.showroom, code="B", by=house.owner, at=START)
    for code, order in (("T02", 11), ("T03", 12)):
        house.positions = {
            "b": add_position(
                room=first.room, zone=zone_b, name=f"b {code}", walking_order=order + 10,
                by=house.owner, at=START,
            )
        }  # fmt: skip
        a_tank(house, code)
    carer = a_carer(house, "Bram Tolliver", "C1")
    due_tasks.ensure(showroom=house.showroom, at=MORNING, days_ahead=0)
    made = ensure_rounds(showroom=house.showroom, on=FIRST_DAY, at=MORNING)
    tablets = [people.a_device(house.owner, at=START), people.a_device(house.owner, at=START)]
    return Gallery(house, carer, tablets, {(row.kind, row.zone.code): row for row in made})


built, gallery = built_once(a_gallery)


def test_only_the_closing_passes_rooms_and_one_zone_has_each(gallery: Gallery) -> None:
    rooms = {
        key: list(row.stops.order_by("order").values_list("tank__codes__code", "room__name"))
        for key, row in gallery.rounds.items()
    }
    assert rooms["closing", "B"] == [("T02", None), ("T03", None), (None, "North Room")]
    assert rooms["closing", "A"] == [("T01", None)]
    assert rooms["midday", "B"] == rooms["opening", "B"] == [("T02", None), ("T03", None)]


def test_laying_rounds_twice_changes_nothing(gallery: Gallery) -> None:
    before = list(Stop.objects.order_by("pk").values_list("pk", "order", "tank", "room"))
    ensure_rounds(showroom=gallery.house.showroom, on=FIRST_DAY, at=MORNING)
    assert list(Stop.objects.order_by("pk").values_list("pk", "order", "tank", "room")) == before


def test_a_room_without_a_tank_is_never_due(gallery: Gallery) -> None:
    Room.objects.create(showroom=gallery.house.showroom, name="Store")
    due_tasks.ensure(showroom=gallery.house.showroom, at=MORNING, days_ahead=0)
    rooms = DueTask.objects.filter(room__isnull=False).values_list("room__name", flat=True)
    assert set(rooms) == {"North Room"}


def test_midday_is_one_tap_a_tank_and_judges_the_drop_checker(gallery: Gallery) -> None:
    pack = gallery.pack("midday", "B", NOON)
    for stop in pack["stops"]:
        assert (stop["check"], stop["doses"], stop["feeds"]) == ("midday_look", [], [])
        assert (stop["readings"], stop["asks_photo"]) == ([], False)
        assert [task["code"] for task in stop["tasks"]] == ["look"]
        (checker,) = (look for look in stop["looks"] if look["look"] == "drop_checker")
        assert datetime.fromisoformat(checker["valid_from"]) == on(FIRST_DAY, "10:00") < NOON
        assert checker["right"] == ["blue_green", "green", "lime"]
        said = gallery.tap("midday", "B", stop, at=NOON)
        assert len(said) == 1
        assert gallery.send(said, at=NOON) == ["accepted"]


def test_gas_of_a_tank_on_hours_of_its_own(gallery: Gallery) -> None:
    put_on(
        tank=gallery.house.tanks["T01"], kind="gas", name="timer",
        figures={"on_h": 12.5, "off_h": 20}, by=gallery.house.owner, at=START,
    )  # fmt: skip
    (stop,) = gallery.pack("midday", "A", NOON)["stops"]
    (checker,) = (look for look in stop["looks"] if look["look"] == "drop_checker")
    assert datetime.fromisoformat(checker["valid_from"]) == on(FIRST_DAY, "14:30")
    assert "14:30" in checker["expect"]


def test_the_figure_of_the_meter_is_the_room_s_and_can_be_taken_back(gallery: Gallery) -> None:
    room = gallery.pack("closing", "B", EVENING)["stops"][-1]
    assert (room["tank"], room["name"]) == (None, "North Room")
    assert next(look["look"] for look in room["looks"]) == "room_valves"
    look, read = gallery.tap("closing", "B", room, at=EVENING)
    assert gallery.send([look, read], at=EVENING) == ["accepted", "accepted"]
    (check,) = RoomAirCheck.objects.all()
    assert (check.co2_ppm, check.room.name) == (540, "North Room")
    assert DueTask.objects.get(template__key="closing_air").state == "done"
    undo = gallery._action(
        "undo", {"takes_back": read["action_id"]}, gallery.rounds["closing", "B"], room,
        read["task_id"], EVENING,
    )  # fmt: skip
    undo["corrects"] = read["action_id"]
    assert gallery.send([undo], at=EVENING) == ["accepted"]
    assert not RoomAirCheck.objects.standing().exists()
    assert DueTask.objects.get(template__key="closing_air").state == "open"


@pytest.mark.parametrize("value", ["dry", "-5", "54.5", "299"])
def test_a_figure_that_no_meter_shows_waits_for_a_person(gallery: Gallery, value: str) -> None:
    room = gallery.pack("closing", "B", EVENING)["stops"][-1]
    read = gallery.tap("closing", "B", room, at=EVENING)[1]
    read["body"]["value"] = read["body"]["text"] = value
    assert gallery.send([read], at=EVENING) == ["held"]
    assert DueTask.objects.get(template__key="closing_air").state == "open"


def test_words_about_a_room_stay_with_the_room(gallery: Gallery) -> None:
    room = gallery.pack("closing", "B", EVENING)["stops"][-1]
    body = {"check": "floor", "look": "room_floor", "value": "wet", "text": "water on the floor",
            "unit": None, "asked_again": False}  # fmt: skip
    round_ = gallery.rounds["closing", "B"]
    why = {"check": "room_co2", "reason": "Instrument is missing or broken"}
    said = [
        gallery._action("check", body, round_, room, None, EVENING),
        gallery._action("unable", why, round_, room, None, EVENING),
    ]
    assert gallery.send(said, at=EVENING) == ["accepted", "accepted"]
    assert {(row.key, row.tank, row.data["room"]) for row in Observation.objects.all()} == {
        ("floor", None, "North Room"), ("room_co2", None, "North Room"),
    }  # fmt: skip


def test_a_tank_s_look_does_not_pass_for_the_room_s(gallery: Gallery) -> None:
    *_, tank, room = gallery.pack("closing", "B", EVENING)["stops"]
    wrong = gallery.tap("closing", "B", room, at=EVENING)[0]
    wrong["task_id"] = tank["tasks"][0]["id"]
    assert gallery.send([wrong], at=EVENING) == ["held"]


def late(gallery: Gallery) -> list[Alert]:
    """Open alerts of a closing that is late."""
    return [a for a in gallery.alerts("overdue") if a.subject_key.startswith("closing")]


TAPS = st.permutations(list(range(4)))


@pytest.fixture
def evening(gallery: Gallery) -> list[tuple[str, dict[str, Any]]]:
    """Zone and stop of the closing, as both tablets have them."""
    return [
        (zone, stop) for zone in "AB" for stop in gallery.pack("closing", zone, EVENING)["stops"]
    ]


@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    order=TAPS,
    tablets=st.lists(st.integers(0, 1), min_size=4, max_size=4),
    late_h=st.lists(st.integers(0, 30), min_size=4, max_size=4),
    twice=st.booleans(),
)
def test_the_closing_is_over_when_the_last_stop_of_any_zone_is(
    built: Gallery,
    evening: list[tuple[str, dict[str, Any]]],
    order: list[int],
    tablets: list[int],
    late_h: list[int],
    twice: bool,
) -> None:
    """In any order, on two tablets, hours late, sent twice: open until the last, then done."""
    with transaction.atomic():
        gallery, stops = deepcopy(built), evening
        assert len(stops) == 4
        review_at = on(FIRST_DAY, "19:00")
        for n, index in enumerate(order):
            if n == len(order) - 1:
                overdue.review(showroom=gallery.house.showroom, at=review_at)
                assert len(late(gallery)) == 1, "one stop is left, and it is said"
            assert gallery.open_tasks("closing") > 0
            zone, stop = stops[index]
            said = gallery.tap("closing", zone, stop, at=EVENING, tablet=tablets[n])
            arrives = EVENING + timedelta(hours=late_h[n])
            assert set(gallery.send(said, at=arrives, tablet=tablets[n])) == {"accepted"}
            if twice:
                again = gallery.send(said, at=arrives, tablet=tablets[n])
                assert set(again) == {"duplicate"}
        assert gallery.open_tasks("closing") == 0
        overdue.review(showroom=gallery.house.showroom, at=review_at)
        assert late(gallery) == []
        assert RoomAirCheck.objects.count() == 1
        transaction.set_rollback(True)


def test_the_alert_comes_at_thirty_minutes_and_names_what_is_left(gallery: Gallery) -> None:
    """Class A, half an hour after its time: common practice, no source."""
    complete_walked(round_=gallery.rounds["closing", "A"], by=gallery.carer, at=EVENING)
    for clock, count in (("18:59", 0), ("19:00", 1)):
        overdue.review(showroom=gallery.house.showroom, at=on(FIRST_DAY, clock))
        found = late(gallery)
        assert len(found) == count
    (alert,) = found
    assert alert.harm_class == "A"
    assert "T02, T03, North Room" in alert.sentence
    assert "T01" not in alert.sentence


def test_a_round_told_in_one_sentence_is_told_once(gallery: Gallery) -> None:
    round_ = gallery.rounds["closing", "B"]
    assert complete_walked(round_=round_, by=gallery.carer, at=EVENING) == 4
    assert complete_walked(round_=round_, by=gallery.carer, at=EVENING) == 0
    (row,) = (r for r in rounds_of_day(gallery.house.showroom, FIRST_DAY) if r.uid == round_.uid)
    assert (row.places, row.to_see, row.seen, row.tasks, row.done) == (3, 3, 3, 4, 4)


def test_who_walks_is_heard_by_the_others_and_blocks_nobody(gallery: Gallery) -> None:
    (stop,) = gallery.pack("midday", "A", NOON)["stops"]
    opened = gallery._action(
        "round_open", {"position": stop["id"]}, gallery.rounds["midday", "A"], None, None, NOON
    )
    later = NOON + timedelta(minutes=2)
    said = [opened, *gallery.tap("midday", "A", stop, at=later)]
    assert set(gallery.send(said, at=later)) == {"accepted"}
    (claim,) = gallery.pack("midday", "B", later)["claims"]
    assert (claim["zone"], claim["name"], claim["is_here"]) == ("A", "Bram", False)
    assert datetime.fromisoformat(claim["at"]) == later
    assert gallery.pack("closing", "B", later)["claims"] == []
    rows = {(r.kind, r.zone): r for r in rounds_of_day(gallery.house.showroom, FIRST_DAY)}
    assert (rows["midday", "A"].heard_of, rows["midday", "A"].heard_at) == ("Bram", later)
    other = gallery.pack("midday", "B", later)["stops"][0]
    at_once = gallery.tap("midday", "B", other, at=later, tablet=1)
    assert gallery.send(at_once, at=later, tablet=1) == ["accepted"]


@pytest.mark.parametrize(("seconds", "told"), [(4, 1), (9, 1), (10, 0), (45, 0)])
def test_a_round_of_forty_seconds_is_asked_about_without_a_name(
    gallery: Gallery, seconds: int, told: int
) -> None:
    """Under ten seconds in the median: common practice, no source."""
    round_ = gallery.rounds["closing", "B"]
    for n in range(7):
        stop = {"id": f"stop-{n}"}
        at = EVENING + n * timedelta(seconds=seconds)
        body = {"check": "closing_look", "value": "all_normal"}
        said = gallery._action("check", body, round_, stop, None, at)
        Action.objects.create(
            showroom=gallery.house.showroom, action_id=uuid7(at), kind="check",
            round_code=round_.code, done_at_corrected=at, entered_at=at, sha256=str(n),
            canonical=json.dumps(said), person=gallery.carer.person,
        )  # fmt: skip
    Round.objects.filter(pk=round_.pk).update(closed_at=EVENING + timedelta(minutes=10))
    quick_rounds.review(gallery.house.showroom, on(FIRST_DAY, "20:00"))
    found = gallery.alerts("quick_round")
    assert len(found) == told
    for alert in found:
        assert "Bram" not in alert.sentence + str(alert.because)
        assert alert.harm_class == "D"
    quick_rounds.review(gallery.house.showroom, on(FIRST_DAY + timedelta(days=2), "20:00"))
    assert gallery.alerts("quick_round") == []


def test_more_tanks_ask_no_more_of_any_round(gallery: Gallery) -> None:
    def queries() -> list[int]:
        counts = []
        for kind in ("opening", "midday", "closing"):
            with CaptureQueriesContext(connection) as asked:
                gallery.pack(kind, "B", NOON)
            counts.append(len(asked))
        return counts

    few = queries()
    zone = gallery.rounds["closing", "B"].zone
    room = Room.objects.get()
    for n in range(4, 14):
        gallery.house.positions = {
            "b": add_position(
                room=room, zone=zone, name=f"b {n}", walking_order=30 + n,
                by=gallery.house.owner, at=START,
            )
        }  # fmt: skip
        a_tank(gallery.house, f"T{n:02}")
    due_tasks.ensure(showroom=gallery.house.showroom, at=MORNING, days_ahead=0)
    ensure_rounds(showroom=gallery.house.showroom, on=FIRST_DAY, at=MORNING)
    assert len(gallery.pack("midday", "B", NOON)["stops"]) == 12
    assert queries() == few
