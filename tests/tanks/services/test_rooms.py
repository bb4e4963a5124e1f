"""Is a room measured by somebody, and does an alarm that was read or tested leave a fact?"""

from datetime import date, timedelta

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from tanks.models import RoomAirCheck
from tanks.queries.rooms import room_air, rooms_air
from tanks.services.rooms import check_room_air, measure_room
from tests.builders.gallery import AT, a_person, a_room, a_showroom, an_owner

pytestmark = pytest.mark.django_db


def measured(room, **changes):
    fields = {
        "volume_m3": 148, "measured_by": "Maud Ellerkamp", "measured_on": date(2024, 3, 1),
        "has_gas_alarm": True, "by": an_owner(room.showroom), "at": AT, **changes,
    }  # fmt: skip
    return measure_room(room=room, **fields)


def test_a_room_has_a_number_only_when_measured_and_with_an_alarm():
    room = a_room(a_showroom())
    assert not room_air(room.showroom, room.uid).has_number
    measured(room, has_gas_alarm=False)
    assert not room_air(room.showroom, room.uid).has_number
    measured(room)
    air = room_air(room.showroom, room.uid)
    assert air.has_number
    assert (air.room.volume_measured_by, air.room.volume_m3) == ("Maud Ellerkamp", 148)


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"volume_m3": 0}, "volume_m3", "0 m³ is not allowed"),
        ({"volume_m3": 100_001}, "volume_m3", "100,001 m³ is not allowed"),
        ({"measured_by": " "}, "measured_by", "nobody was named"),
        ({"measured_on": date(2026, 3, 13)}, "measured_on", "still to come"),
    ],
)
def test_a_measure_that_cannot_be_is_refused_with_words(change, field, words):
    with pytest.raises(Refused, match=words) as caught:
        measured(a_room(a_showroom()), **change)
    assert field in caught.value.fields


def test_only_who_may_change_plans_measures():
    showroom = a_showroom()
    with pytest.raises(Forbidden):
        measured(a_room(showroom), by=a_person(showroom=showroom))


def test_the_last_reading_and_the_last_test_are_told_apart():
    showroom = a_showroom()
    room, by = a_room(showroom), a_person(showroom=showroom)
    tested = AT - timedelta(days=10)
    check_room_air(room=room, is_test=True, rang=True, by=by, at=tested)
    check_room_air(room=room, co2_ppm=640, by=by, at=AT - timedelta(days=1))
    check_room_air(room=room, co2_ppm=520, by=by, at=AT)
    air = rooms_air(showroom)[0]
    assert air.read is not None
    assert air.read.co2_ppm == 520
    assert air.test is not None
    assert air.test.rang is True
    assert air.room.gas_alarm_tested_on == tested.date()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"co2_ppm": 299}, "299 ppm is not allowed"),
        ({"co2_ppm": 100_001}, "100,001 ppm is not allowed"),
        ({}, "nothing was read"),
        ({"is_test": True}, "nobody said whether the alarm rang"),
    ],
)
def test_what_an_alarm_cannot_show_is_refused(said, words):
    room = a_room(a_showroom())
    with pytest.raises(Refused, match=words):
        check_room_air(room=room, by=an_owner(room.showroom), at=AT, **said)
    assert not RoomAirCheck.objects.exists()


def test_a_strangers_room_is_unknown():
    mine, theirs = a_showroom(), a_showroom()
    with pytest.raises(Unknown):
        room_air(mine, a_room(theirs).uid)
    with pytest.raises(Unknown):
        check_room_air(room=a_room(theirs), co2_ppm=500, by=an_owner(mine), at=AT)
