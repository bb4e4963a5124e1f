"""Hours of the weeks ahead, as it is and if so, against the minutes of the catalogue."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from maintenance.queries.labour import MoreTanks, labour
from maintenance.services.rota import plan_shift
from tests.maintenance.house import FIRST_DAY, House, a_house, a_tank, on

pytestmark = pytest.mark.django_db

AT = on(FIRST_DAY)
MONDAY = FIRST_DAY + timedelta(days=7)
OUTER_L = 64.8


@pytest.fixture
def house() -> House:
    found = a_house()
    a_tank(found, "T01")
    return found


def test_one_more_tank_asks_what_the_catalogue_says(house: House) -> None:
    more = MoreTanks(1, OUTER_L, MONDAY, MONDAY + timedelta(days=28))
    found = labour(house.showroom, AT, more=more)
    first = found.weeks[0]
    # 60 x 30 x 36 cm, second band. Days 0 to 6: look 7 x 2, dose 7 x 0.5, a half change of 25
    # minutes on days 1 to 6, tests of 4 minutes on days 1, 3 and 5
    assert first.then - first.now >= Decimal("14") + Decimal("3.5") + 150 + 12
    assert found.told == first
    assert found.start_up is not None
    assert found.grown
    # common practice, no source: a start-up asks three to seven times the work of later weeks
    assert 2 < found.start_up / found.grown < 8


def test_closed_days_move_work_and_take_what_a_hand_gives(house: House) -> None:
    closed = (MONDAY + timedelta(days=7), MONDAY + timedelta(days=14))
    found = labour(house.showroom, AT, closed=closed)
    before, shut = found.weeks[0], found.weeks[1]
    # the weekly change of 25 minutes moves to the week before
    assert before.then - before.now >= 25
    # what is left: looking, 2 minutes a day
    assert shut.then < shut.now
    assert shut.then >= 14
    assert found.weeks[3].then == found.weeks[3].now


def test_without_a_choice_both_are_the_same(house: House) -> None:
    found = labour(house.showroom, AT)
    assert len(found.weeks) == 8
    assert all(week.now == week.then > 0 for week in found.weeks)
    assert found.start_up is None


def test_the_rota_of_a_week_is_told_and_its_absence_too(house: House) -> None:
    start = datetime.combine(MONDAY, datetime.min.time(), tzinfo=UTC) + timedelta(hours=9)
    plan_shift(
        showroom=house.showroom, person=house.owner.person, from_at=start,
        to_at=start + timedelta(hours=8), by=house.owner, at=AT,
    )  # fmt: skip
    weeks = labour(house.showroom, AT).weeks
    assert weeks[0].on_rota == 480
    assert weeks[1].on_rota is None


def test_queries_do_not_grow_with_the_tanks(house: House) -> None:
    more = MoreTanks(2, OUTER_L, date(2026, 4, 1), date(2026, 4, 29))
    labour(house.showroom, AT, more=more)
    with CaptureQueriesContext(connection) as few:
        labour(house.showroom, AT, more=more)
    for n in range(2, 8):
        a_tank(house, f"T0{n}")
    with CaptureQueriesContext(connection) as many:
        labour(house.showroom, AT, more=more)
    assert len(many) == len(few)
