"""One emergency, tapped on two tablets: whatever the order of arrival, the same timeline."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from maintenance.schedule.incident import (
    Tap,
    course,
    in_order,
    seconds_to_each_line,
    stops_where,
)

AT = datetime(2026, 3, 12, 8, 6, 31, tzinfo=UTC)


def tap(key: str, after_s: float, kind: str = "done", **more: object) -> Tap:
    return Tap(AT + timedelta(seconds=after_s), key, kind, **more)  # type: ignore[arg-type]


KINDS = ["opened", "joined", "place", "done", "out", "rung", "over", "nothing"]
some_taps = st.lists(
    st.builds(
        tap,
        key=st.uuids().map(str),
        after_s=st.integers(0, 20),
        kind=st.sampled_from(KINDS),
        line=st.integers(1, 7),
        text=st.sampled_from(["Bram Tolliver", "112", ""]),
        person=st.integers(1, 3),
        place=st.sampled_from(["", "tank", "room", "gallery"]),
        place_id=st.integers(1, 2),
    ),
    min_size=1,
    max_size=12,
)  # fmt: skip


@given(taps=some_taps, data=st.data())
def test_any_order_and_any_repetition_tell_the_same(taps: list[Tap], data: st.DataObject) -> None:
    again = data.draw(st.permutations(taps + data.draw(st.lists(st.sampled_from(taps)))))
    assert in_order(again) == in_order(taps)
    assert course(again) == course(taps)


@given(taps=some_taps)
def test_what_follows_lies_between_the_first_and_the_last_tap(taps: list[Tap]) -> None:
    found = course(taps)
    times = [one.at for one in taps]
    assert found.opened_at == min(times)
    assert found.closed_at is None or min(times) <= found.closed_at <= max(times)
    ends = [one.at for one in taps if one.kind in {"over", "nothing"}]
    assert found.closed_at == (min(ends) if ends else None)
    assert all(found.opened_at <= at for at in found.lines.values())
    assert set(found.lines) == {one.line for one in taps if one.kind == "done"}


def test_two_tablets_and_a_late_one() -> None:
    taps = [
        tap("c", 40, "done", line=2, person=2),
        tap("d", 9, "done", line=1, person=1),
        tap("e", 31, "done", line=1, person=2),
        tap("a", 0, "opened", person=1),
        tap("f", 81, "rung", text="01632 960 104", person=1),
        tap("b", 5, "place", person=1, place="tank", place_id=11),
        tap("h", 600, "over", person=2, text="Maud Ellerkamp"),
        tap("g", 300, "place", person=2, place="room", place_id=3),
        tap("i", 700, "done", line=7, person=1),
    ]
    found = course(taps)
    assert (found.opened_at, found.opened_by, found.people) == (AT, 1, (1, 2))
    assert found.place == ("room", 3)
    assert seconds_to_each_line(found) == {"1": 9, "2": 40, "7": 700}
    assert found.rung == {"01632 960 104": (AT + timedelta(seconds=81),)}
    assert (found.closed_by, found.decided_by, found.was_nothing) == (2, "Maud Ellerkamp", False)


def test_a_step_before_the_opening_begins_the_clock() -> None:
    found = course([tap("a", 0, "done", line=1, person=1), tap("b", 4, "opened", person=2)])
    assert (found.opened_at, found.opened_by) == (AT, 2)


def test_no_tap_is_no_emergency() -> None:
    with pytest.raises(ValueError, match="none"):
        course([])


@pytest.mark.parametrize(
    ("card", "place", "stops"),
    [
        ("tank", ("", 0), ""),
        ("room", ("", 0), ""),
        ("gallery", ("", 0), "gallery"),
        ("tank", ("tank", 4), "tank"),
        ("room", ("tank", 4), "tank"),
        ("gallery", ("room", 2), "room"),
        ("tank", ("gallery", 0), "gallery"),
        ("nothing", ("tank", 4), ""),
    ],
)
def test_what_rests_follows_from_card_and_place(
    card: str, place: tuple[str, int], stops: str
) -> None:
    assert stops_where(card, place) == stops
