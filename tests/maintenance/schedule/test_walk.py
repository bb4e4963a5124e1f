"""The order of stops. Source of "quarantine last": aza.org/quarantine, keepers attend quarantined
animals after the others; the rest is the gallery's drawn path."""

from __future__ import annotations

import random
from datetime import date

import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from maintenance.schedule.spread import dates_of, rule_for
from maintenance.schedule.walk import Place, neighbours, walk

PLACES = [
    Place(1, "T01", room_order=1, position_order=1),
    Place(2, "T02", room_order=1, position_order=2, is_flagged=True),
    Place(3, "T03", room_order=1, position_order=3, is_empty=True),
    Place(4, "Q01", room_order=1, position_order=4, is_quarantine=True),
    Place(5, "T05", room_order=2, position_order=1),
    Place(6, "T04", room_order=2, position_order=2),
    Place(7, "T06", room_order=2, position_order=2),
]


def codes(places: tuple[Place, ...]) -> list[str]:
    return [place.code for place in places]


def test_walking_order_with_suspects_last_and_empty_places_passed() -> None:
    shuffled = PLACES[:]
    random.Random(7).shuffle(shuffled)
    found = walk(shuffled)
    assert codes(found.stops) == ["T01", "T05", "T04", "T06", "Q01", "T02"]
    assert codes(found.passed) == ["T03"]
    assert codes(found.order) == ["T01", "T03", "T05", "T04", "T06", "Q01", "T02"]


def test_neighbours_at_the_ends_and_for_a_stranger() -> None:
    order = walk(PLACES).order
    assert neighbours(order, 1) == (None, order[1])
    assert neighbours(order, 2) == (order[-2], None)
    assert neighbours(order, 5) == (order[1], order[3])
    assert neighbours(order, 99) == (None, None)


def test_a_weekly_task_is_spread_and_a_new_tank_moves_no_other() -> None:
    rule = "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH"
    assert [rule_for(rule, number) for number in (4, 5, 6, 7, 8)] == [
        "FREQ=WEEKLY;BYDAY=MO",
        "FREQ=WEEKLY;BYDAY=TU",
        "FREQ=WEEKLY;BYDAY=WE",
        "FREQ=WEEKLY;BYDAY=TH",
        "FREQ=WEEKLY;BYDAY=MO",
    ]


def test_each_spread_tank_has_its_day_once_a_week() -> None:
    rule = "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH"
    for number in range(8):
        found = dates_of(
            rule, date(2026, 1, 1), date(2026, 3, 9), date(2026, 4, 5), number=number, spread=True
        )
        assert len(found) == 4
        assert {day.weekday() for day in found} == {number % 4}


@pytest.mark.parametrize("rule", ["FREQ=WEEKLY", "FREQ=DAILY", "FREQ=MONTHLY;BYDAY=1TU"])
def test_only_a_weekly_rule_with_weekdays_can_be_spread(rule: str) -> None:
    with pytest.raises(OutOfRange, match="weekly rule that lists its weekdays"):
        rule_for(rule, 0)
