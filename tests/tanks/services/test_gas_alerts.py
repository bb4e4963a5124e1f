"""A drop checker is believed in the light only, and pH of dark and light belong together.

Hours and figures: common practice, no source. London shows the same hour as UTC on that day.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Alert
from gallery_ops.web.because import answers
from tanks.jobs import water
from tanks.models import Equipment, Layout, Reading, Tank, TankCode
from tanks.services.catalogue import load_parameters
from tanks.services.equipment import put_on
from tanks.services.gates import set_limit
from tanks.services.readings import correct_reading, record_reading
from tests.builders.gallery import AT, a_planted_tank, an_owner
from tests.built_once import built_once

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
EVENING = AT.replace(hour=20)


class World:
    """A tank whose lamps shine from 10 to 18."""

    def __init__(self) -> None:
        load_parameters()
        self.tank = a_planted_tank("T01", at=AT - 100 * DAY)
        self.showroom = self.tank.showroom
        self.boss = an_owner(self.showroom)
        self.lamp = put_on(
            tank=self.tank,
            kind="light",
            name="",
            figures={"on_h": 10, "off_h": 18},
            by=self.boss,
            at=AT - 100 * DAY,
        )

    def read(self, parameter, text, clock, *, days_ago=0, **more):
        hour, minute = (int(part) for part in clock.split(":"))
        at: datetime = AT.replace(hour=hour, minute=minute) - days_ago * DAY
        return record_reading(
            tank=self.tank, parameter=parameter, text=text, by=self.boss, at=at,
            asked_again=True, **more,
        )  # fmt: skip

    def open(self, at=EVENING):
        water(self.showroom, "", at)
        return [a.sentence for a in Alert.objects.filter(kind="gas_sign", closed_at=None)]


built, world = built_once(World)
TOLD = "T01: drop checker blue 2 h into the light, too little CO2."


@pytest.mark.parametrize(
    ("word", "clock", "told"),
    [
        ("blue", "08:00", []),
        ("blue", "11:59", []),
        ("blue", "12:00", [TOLD]),
        ("blue", "18:00", []),
        ("blue", "19:00", []),
        ("blue_green", "12:00", []),
        ("green", "12:00", []),
    ],
)
def test_blue_is_too_little_two_hours_into_the_light_and_at_no_other_hour(world, word, clock, told):
    world.read("drop_checker", word, clock)
    assert world.open() == told


def test_without_gas_blue_is_right(world):
    Layout.objects.update(has_co2=False)
    world.read("drop_checker", "blue", "13:00")
    assert world.open() == []


def test_the_blue_of_the_next_morning_closes_nothing_and_green_in_the_light_does(world):
    world.read("drop_checker", "blue", "12:00", days_ago=1)
    world.read("drop_checker", "blue", "08:00")
    assert world.open() == [TOLD]
    assert Alert.objects.get(kind="gas_sign").harm_class == "C"
    world.read("drop_checker", "green", "13:00")
    assert world.open() == []


def test_a_word_that_was_entered_wrongly_is_corrected_and_stays_to_be_seen(world):
    wrong = world.read("drop_checker", "blue", "12:00")
    assert world.open() == [TOLD]
    better = correct_reading(
        reading=wrong, text="green", reason="wrong button", by=world.boss, at=EVENING
    )
    assert world.open() == []
    assert (better.word, better.corrects.word, better.reason) == ("green", "blue", "wrong button")
    assert better.done_at_corrected == wrong.done_at_corrected


def test_without_a_timer_the_lamps_are_taken_from_the_doors_and_it_says_so(world):
    Equipment.objects.filter(pk=world.lamp.pk).update(figures={"hours_per_day": 8})
    opens = world.showroom.opens_at
    world.read("drop_checker", "blue", f"{opens.hour + 1}:{opens.minute:02}")
    assert world.open() == []
    world.read("drop_checker", "blue", f"{opens.hour + 2}:{opens.minute:02}")
    assert world.open() == [TOLD]
    (line,) = answers(Alert.objects.get(kind="gas_sign").because)
    assert "No timer is written down" in line.text


def test_ph_swings_by_more_than_its_limit_by_one_method_on_one_day(world):
    world.read("ph", "7.4", "09:00", method="meter")
    world.read("ph", "6.0", "15:00", method="meter")
    assert world.open() == []
    world.read("ph", "5.9", "16:00", method="strip")
    assert world.open() == []
    world.read("ph", "5.95", "17:00", method="meter")
    assert world.open() == ["T01: pH swings by 1.45 between dark and light."]
    (line,) = answers(Alert.objects.get(kind="gas_sign").because)
    assert "asked about above 1.4. Both by meter" in line.text
    set_limit(
        showroom=world.showroom, key="ph_swing", number=1.5, reason="soft", by=world.boss, at=AT
    )
    assert world.open() == []


@pytest.mark.once
def test_as_many_queries_at_200_tanks_as_at_20(world):
    sample = world.read("drop_checker", "blue", "12:00")

    def grow(more):
        tanks = Tank.objects.bulk_create(
            Tank(showroom=world.showroom, length_mm=600, width_mm=300, height_mm=360, glass_mm=6)
            for _number in range(more)
        )
        for tank in tanks:
            TankCode.objects.create(
                showroom=world.showroom, tank=tank, code=f"X{tank.pk}", from_at=AT - DAY
            )
        Layout.objects.bulk_create(
            Layout(showroom=world.showroom, tank=tank, stage="show", from_at=AT - DAY)
            for tank in tanks
        )
        Reading.objects.bulk_create(
            Reading(
                showroom=world.showroom, tank=tank, parameter=sample.parameter, word="blue",
                text_as_typed="blue", done_at=sample.done_at, entered_at=sample.entered_at,
                done_at_corrected=sample.done_at_corrected, person=sample.person,
            )
            for tank in tanks
        )  # fmt: skip

    def asked():
        world.open()
        with CaptureQueriesContext(connection) as found:
            told = world.open()
        return len(found), len(told)

    grow(19)
    first = asked()
    grow(180)
    second = asked()
    assert (first[1], second[1]) == (20, 200)
    assert first[0] == second[0]
