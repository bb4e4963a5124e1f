"""What is looked at on which round, and from when a drop checker counts. No database.

Order of the eyes, the two hours and gas two hours before the doors: common practice, no source.
"""

from __future__ import annotations

import tomllib
from copy import deepcopy
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from maintenance.schedule.looks import CATALOGUE, gas_from, look_catalogue, looks_from, valid_from

LONDON = ZoneInfo("Europe/London")
GAS = frozenset({"gas"})


def keys(kind: str, has: frozenset[str]) -> list[str]:
    return [look.key for look in look_catalogue().of_tank(kind, has)]


def test_each_round_has_looks_of_its_own() -> None:
    assert keys("opening", GAS) == [
        "floor_level", "animals", "temperature", "drop_checker", "outflow_gas", "surface",
    ]  # fmt: skip
    assert keys("midday", GAS) == [
        "animals", "drop_checker", "outflow_gas", "temperature", "floor_level", "front",
    ]  # fmt: skip
    assert keys("closing", GAS) == ["floor_level", "animals", "gas_shut", "lights", "lid"]


def test_a_tank_without_gas_is_not_asked_for_it_and_own_tools_come_first() -> None:
    for kind in ("opening", "midday", "closing"):
        found = keys(kind, frozenset({"no_gas", "own_tools"}))
        assert found[0] == "own_tools"
        assert not {"drop_checker", "outflow_gas", "gas_shut"} & set(found)
    assert "feeder" in keys("closing", frozenset({"feeder"}))


def test_rooms_are_looked_at_in_the_evening_and_their_air_is_read() -> None:
    found = look_catalogue()
    assert [look.key for look in found.of_room("closing")] == [
        "room_valves", "room_floor", "room_lights", "room_doors",
    ]  # fmt: skip
    assert dict(found.rounds["closing"].asks) == {"room_co2": "closing_air"}
    assert found.of_room("opening") == found.of_room("midday") == []


def test_a_drop_checker_counts_two_hours_after_the_gas() -> None:
    """Doors at ten: gas at eight, and from ten its word is judged; worked by hand."""
    on = date(2026, 3, 12)
    assert valid_from(gas_from(on, time(10), LONDON)) == datetime(2026, 3, 12, 10, 0, tzinfo=UTC)
    own = gas_from(on, time(10), LONDON, gas_from_h=11.5)
    assert valid_from(own) == datetime(2026, 3, 12, 13, 30, tzinfo=UTC)


def test_the_night_the_clocks_change_counts_hours_by_the_clock_on_the_wall() -> None:
    """29 March 2026: at one o'clock it becomes two in London (IANA tz database)."""
    on = date(2026, 3, 29)
    assert gas_from(on, time(10), LONDON, 8) == datetime(2026, 3, 29, 7, 0, tzinfo=UTC)


def test_labels_and_what_is_right_are_said_in_both_languages() -> None:
    found = look_catalogue()
    for look in found.looks.values():
        assert set(look.labels) == {"en", "de"}, look.key
    for kind, row in found.rounds.items():
        for look in row.right:
            assert row.expect(look, "en") != row.expect(look, "de"), (kind, look)
    assert found.looks["animals"].label("fr") == "Animals"


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (lambda c: c["round"]["midday"]["tank"].append("moon"), "round midday"),
        (lambda c: c["look"]["lid"].update(only_with="moon"), "look lid, only_with"),
        (lambda c: c["look"]["lid"].update(label={"de": "Deckel"}), "look lid, label"),
        (lambda c: c["round"].update(night=c["round"]["midday"]), "night"),
    ],
)
def test_a_wrong_row_is_named(change: Any, named: str) -> None:
    content = deepcopy(tomllib.loads(CATALOGUE.read_text("utf-8")))
    change(content)
    with pytest.raises(OutOfRange, match=named):
        looks_from(content)
