"""A reading outside its range asks for a person until it is read anew."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Alert
from gallery_ops.web.because import answers
from tanks.jobs import water
from tanks.services.catalogue import load_parameters
from tanks.services.layouts import close_layout
from tanks.services.readings import record_reading, take_back_reading
from tanks.services.rooms import check_room_air
from tests.builders.gallery import AT, a_person, a_planted_tank, a_room, an_owner
from tests.built_once import built_once

pytestmark = pytest.mark.django_db


class World:
    """One planted tank and somebody who reads."""

    def __init__(self) -> None:
        load_parameters()
        self.tank = a_planted_tank("T01", at=AT - timedelta(days=100))
        self.showroom = self.tank.showroom
        self.bram = a_person("carer", showroom=self.showroom)

    def read(self, parameter, text, hours_ago=0.0, **more):
        return record_reading(
            tank=self.tank,
            parameter=parameter,
            text=text,
            by=self.bram,
            at=AT - timedelta(hours=hours_ago),
            asked_again=True,
            **more,
        )

    def open(self, kind="reading_alarm"):
        water(self.showroom, "", AT)
        return list(Alert.objects.filter(kind=kind, closed_at=None).order_by("cause_key"))


built, world = built_once(World)


def test_a_warm_tank_is_told_once_and_closes_with_the_next_reading(world):
    world.read("temperature", "28,4", hours_ago=2)
    assert len(world.open()) == 1
    (alert,) = world.open()
    assert (alert.harm_class, alert.sentence) == ("A", "T01: Temperature 28.4 °C.")
    (line,) = answers(alert.because)
    assert "22.00 to 27.50 °C" in line.text or "22 to 27.5 °C" in line.text
    assert "inside" in line.text
    world.read("temperature", "26")
    assert world.open() == []


def test_a_word_that_alarms_is_told_and_a_reading_taken_back_tells_nothing(world):
    world.read("drop_checker", "blue")
    yellow = world.read("drop_checker", "yellow")
    assert [a.sentence for a in world.open()] == ["T01: Drop checker yellow, too much CO2."]
    take_back_reading(reading=yellow, by=world.bram, at=AT)
    assert world.open() == []


def test_below_the_range_of_the_kit_is_no_alarm_of_too_much(world):
    world.read("ammonia_n", "<0.5", hours_ago=1)
    assert world.open() == []
    world.read("ammonia_n", "0.5")
    assert len(world.open()) == 1


def test_ammonia_of_a_start_up_without_animals_is_no_emergency(world):
    world.read("ammonia_n", "0.6")
    assert [a.harm_class for a in world.open()] == ["A"]
    world.tank.layouts.update(stage="start_up")
    assert [a.harm_class for a in world.open()] == ["C"]


def test_what_was_read_before_this_layout_tells_nothing_and_an_empty_tank_neither(world):
    world.read("temperature", "29")
    assert len(world.open()) == 1
    boss = an_owner(world.showroom)
    close_layout(layout=world.tank.layouts.get(), by=boss, at=AT)
    assert world.open() == []


@pytest.mark.parametrize(
    ("ppm", "told"),
    [(5_000, None), (5_001, "limit of 8 hours"), (15_001, "limit of 15 minutes")],
)
def test_a_room_above_its_limit_is_class_a_until_it_is_read_below(world, ppm, told):
    room = a_room(world.showroom, "Hall")
    check_room_air(room=room, co2_ppm=ppm, is_test=False, rang=None, by=world.bram, at=AT)
    found = world.open("room_air_alarm")
    assert [told in a.sentence for a in found] == ([True] if told else [])
    assert all(a.harm_class == "A" for a in found)
    check_room_air(
        room=room, co2_ppm=600, is_test=False, rang=None, by=world.bram, at=AT + timedelta(hours=1)
    )
    assert world.open("room_air_alarm") == []


@pytest.mark.once
def test_more_tanks_ask_no_more_queries(world):
    def asked():
        with CaptureQueriesContext(
            connection,
        ) as found:
            water(world.showroom, "", AT)
        return len(found)

    world.read("temperature", "25")
    before = asked()
    for number in range(2, 6):
        a_planted_tank(f"T0{number}", showroom=world.showroom, at=AT - timedelta(days=50))
    assert asked() == before
