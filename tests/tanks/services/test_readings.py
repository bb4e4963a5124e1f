"""What somebody reads: kept as typed, asked about, refused, taken back."""

from datetime import timedelta
from uuid import uuid4

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from tanks.models import ParameterRange, Reading
from tanks.queries.readings import latest_readings
from tanks.services.catalogue import load_parameters
from tanks.services.readings import record_reading, take_back_reading
from tests.builders.gallery import AT, a_person, a_planted_tank

pytestmark = pytest.mark.django_db


@pytest.fixture
def tank():
    load_parameters()
    return a_planted_tank("T01")


@pytest.fixture
def bram(tank):
    return a_person("carer", showroom=tank.showroom)


def read(tank, by, text, parameter="temperature", **more):
    return record_reading(tank=tank, parameter=parameter, text=text, by=by, at=AT, **more)


@pytest.mark.parametrize("text", ["24.1", "24,1"])
def test_point_and_comma_are_both_a_decimal_mark(tank, bram, text):
    row = read(tank, bram, text)
    assert (row.value, row.text_as_typed) == (24.1, text)


def test_sixty_for_six_point_zero_is_refused_as_impossible(tank, bram):
    with pytest.raises(Refused) as no:
        read(tank, bram, "60", "ph")
    assert no.value.code == "out_of_range"
    assert "3 to 11" in no.value.fields["value"]
    assert not Reading.objects.exists()


def test_an_unusual_value_is_asked_about_and_kept_when_it_is_true(tank, bram):
    with pytest.raises(Refused) as no:
        read(tank, bram, "17")
    assert no.value.code == "ask_again"
    assert read(tank, bram, "17", asked_again=True).asked_again


def test_below_the_limit_of_a_method_is_no_number_zero(tank, bram):
    row = read(tank, bram, "<0.05", "nitrite")
    assert (row.qualifier, row.value) == ("<", 0.05)


def test_a_word_that_is_none_of_the_list_is_refused_with_the_list(tank, bram):
    with pytest.raises(Refused) as no:
        read(tank, bram, "purple", "drop_checker")
    assert "blue_green" in no.value.fields["value"]


def test_the_same_action_twice_is_one_reading(tank, bram):
    action = uuid4()
    first = read(tank, bram, "24.1", action_id=action)
    assert read(tank, bram, "24.1", action_id=action).pk == first.pk
    assert Reading.objects.count() == 1


def test_taken_back_both_stay_and_neither_counts(tank, bram):
    older = read(tank, bram, "24.0")
    slip = record_reading(
        tank=tank, parameter="temperature", text="25", by=bram, at=AT + timedelta(minutes=1)
    )
    take_back_reading(reading=slip, by=bram, at=AT + timedelta(minutes=2))
    assert Reading.objects.count() == 3
    assert latest_readings(tank.showroom)[(tank.pk, "temperature")].pk == older.pk


def test_a_tank_may_have_ranges_of_its_own(tank, bram):
    row = read(tank, bram, "24")
    ParameterRange.objects.create(
        showroom=tank.showroom, parameter=row.parameter, tank=tank, ask_low=16, reason="cool"
    )
    assert read(tank, bram, "17").value == 17


def test_nobody_reads_for_another_showroom(tank):
    stranger = a_person("carer")
    with pytest.raises(Unknown):
        read(tank, stranger, "24")


def test_a_guest_designer_records_nothing(tank):
    guest = a_person("guest_designer", showroom=tank.showroom)
    with pytest.raises(Forbidden):
        read(tank, guest, "24")
