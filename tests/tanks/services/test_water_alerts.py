"""Does falling hardness ask for a person, a new kit not, and ammonia at the pH of the night?"""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Alert, WorkItem
from gallery_ops.web.because import answers
from tanks.jobs import water
from tanks.models import Reading
from tanks.services.catalogue import load_parameters
from tanks.services.readings import record_reading, take_back_reading
from tests.builders.gallery import AT, a_person, a_planted_tank

pytestmark = pytest.mark.django_db


@pytest.fixture
def tank():
    load_parameters()
    return a_planted_tank("T01", at=AT - timedelta(days=100))


@pytest.fixture
def read(tank):
    bram = a_person("carer", showroom=tank.showroom)

    def say(parameter, text, *, days_ago=0.0, **more):
        then = AT - timedelta(days=days_ago)
        return record_reading(
            tank=tank, parameter=parameter, text=text, by=bram, at=then, asked_again=True, **more
        )

    say.by = bram
    return say


def _open(tank, kind):
    water(tank.showroom, "", AT)
    return list(Alert.objects.filter(kind=kind, closed_at=None))


def _weekly(read, values, **more):
    last = len(values) - 1
    return [
        read("kh", str(value), days_ago=7 * (last - week), **more)
        for week, value in enumerate(values)
    ]


def test_falling_hardness_is_told_once_with_its_day_and_its_because(tank, read):
    # By hand: 2.2 falling 0.3 a week is at 1 after four weeks.
    _weekly(read, [4, 3.7, 3.4, 3.1, 2.8, 2.5, 2.2], method="drops", reagent_lot="A")
    assert len(_open(tank, "water_drift")) == 1
    (alert,) = _open(tank, "water_drift")
    day = (AT + timedelta(days=28)).date()
    on = f"{day.day} {day:%B}"
    assert alert.sentence == f"T01: Carbonate hardness falls, and reaches 1 dKH on {on}."
    (line,) = answers(alert.because)
    assert "0.3 dKH a week over 42 days (n = 7)" in line.text
    assert "drops, lot A" in line.text


def test_a_jump_with_a_new_lot_is_no_alert(tank, read):
    for week, (value, lot) in enumerate([(5, "A")] * 4 + [(3, "B"), (2.5, "B"), (2, "B")]):
        read("kh", str(value), days_ago=42 - 7 * week, reagent_lot=lot)
    assert _open(tank, "water_drift") == []


def test_readings_that_were_taken_back_make_no_trend(tank, read):
    rows = _weekly(read, [4, 3.7, 3.4, 3.1, 2.8, 2.5, 2.2])
    assert len(_open(tank, "water_drift")) == 1
    for row in rows[-4:]:
        take_back_reading(reading=row, by=read.by, at=AT)
    assert _open(tank, "water_drift") == []
    assert Reading.objects.count() == 11


def test_ammonia_is_judged_at_the_ph_of_the_night_and_not_of_the_test(tank, read):
    read("temperature", "25", days_ago=1)
    read("ammonia_n", "0.4", days_ago=1)
    read("ph", "7.0", days_ago=1, light_phase="on")
    assert _open(tank, "ammonia") == []
    read("ph", "8.0", days_ago=0.5, light_phase="off")
    (alert,) = _open(tank, "ammonia")
    assert alert.harm_class == "A"
    # 5.37 % un-ionised at pH 8.0 and 25 C (Emerson et al. 1975, as quoted): 0.0215 mg/L.
    assert "0.021 mg/L as N" in alert.sentence
    (line,) = answers(alert.because)
    assert "pH 8" in line.text
    assert "act" in line.text


def test_a_reading_wants_the_water_looked_at(tank, read):
    read("kh", "4")
    assert WorkItem.objects.filter(showroom=tank.showroom, kind="water").exists()


def test_more_tanks_ask_no_more_of_the_database(tank, read):
    _weekly(read, [4, 3.7, 3.4, 3.1, 2.8, 2.5, 2.2])
    counts = []
    for code in ("", "T02", "T03", "T04"):
        if code:
            more = a_planted_tank(code, showroom=tank.showroom, at=AT - timedelta(days=100))
            for week in range(7):
                then = AT - timedelta(days=7 * week)
                record_reading(
                    tank=more, parameter="kh", text=f"{2 + week / 2}", by=read.by, at=then
                )
        with CaptureQueriesContext(connection) as seen:
            water(tank.showroom, "", AT)
        counts.append(len(seen))
    assert Alert.objects.filter(kind="water_drift", closed_at=None).count() == 4
    assert counts[1] == counts[2] == counts[3]
