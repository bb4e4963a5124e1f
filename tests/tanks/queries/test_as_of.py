"""Whatever was moved, re-glazed, replanted or renamed: what stood there then is answered.

Checked against a plain diary that writes down after every deed how all of it stands.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from gallery_ops.kernel.errors import Refused, Unknown
from tanks.models import Tank
from tanks.queries.as_of import AsOf, fleet_as_of, tank_as_of
from tanks.queries.layouts import layout_at
from tanks.services.glass import replace_glass
from tanks.services.layouts import add_hardscape, add_plant_group, begin_layout, close_layout
from tanks.services.placements import move_tank, rename_tank, retire_tank
from tanks.services.stages import advance_stage
from tests.builders.gallery import AT, a_place, a_planted_tank, a_showroom, a_tank, an_owner

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
DEEDS = st.lists(
    st.tuples(
        st.sampled_from(
            ["move", "glass", "rescape", "clear", "rename", "stage", "plant", "stage", "retire"]
        ),
        st.integers(0, 1),
    ),
    min_size=5,
    max_size=8,
)
NEXT = {"briefed": "hardscape", "hardscape": "planting", "planting": "start_up"}
Seen = dict[str, tuple[object, ...]]


def _seen(rows: list[AsOf]) -> Seen:
    """Code -> glass, place, layout, version, stage, numbers of groups, stones."""
    return {
        row.code: (
            row.tank.pk,
            row.position and row.position.pk,
            row.layout and row.layout.title,
            row.version and (row.version.major, row.version.minor),
            row.stage,
            [group.number for group in row.groups],
            len(row.hardscape),
        )
        for row in rows
    }


class Diary:
    """Two places with a tank each; what is done to them, and how all stood afterwards.

    It knows nothing of periods: it keeps the present, and a copy of it after every deed.
    """

    def __init__(self) -> None:
        self.showroom = a_showroom()
        self.boss = an_owner(self.showroom)
        self.now: list[dict[str, object] | None] = []
        self.glass: list[Tank] = []
        self.names = 0
        self.entries: dict[datetime, Seen] = {}
        for n in range(2):
            tank = a_tank(f"T{n}", showroom=self.showroom)
            place = tank.placements.get().position_id
            self.glass.append(tank)
            self.now.append({"code": f"T{n}", "place": place, **self._vacant()})
        for n in range(2):
            self.do("rescape", n, AT)

    @staticmethod
    def _vacant() -> dict[str, object]:
        return {"title": None, "version": None, "stage": "vacant", "groups": [], "stones": 0}

    def write(self, at: datetime) -> None:
        stood = {
            str(row["code"]): (
                self.glass[n].pk,
                row["place"],
                row["title"],
                row["version"],
                row["stage"],
                list(row["groups"]),  # type: ignore[call-overload]
                row["stones"],
            )
            for n, row in enumerate(self.now)
            if row is not None
        }
        self.entries[at] = stood

    def do(self, deed: str, n: int, at: datetime) -> None:
        row = self.now[n]
        if row is not None:
            getattr(self, f"_{deed}")(n, row, {"by": self.boss, "at": at})
        self.write(at)

    def _name(self) -> str:
        self.names += 1
        return f"N{self.names}"

    def _move(self, n: int, row: dict, who: dict) -> None:
        place = a_place(self.showroom)
        move_tank(tank=self.glass[n], position=place, **who)
        row["place"] = place.pk

    def _glass(self, n: int, _row: dict, who: dict) -> None:
        size = {"length_mm": 900, "width_mm": 450, "height_mm": 450, "glass_mm": 8}
        self.glass[n] = replace_glass(tank=self.glass[n], **size, **who)

    def _clear(self, n: int, row: dict, who: dict) -> None:
        layout = layout_at(self.glass[n], who["at"])
        if layout is not None:
            close_layout(layout=layout, **who)
        row.update(self._vacant())

    def _rescape(self, n: int, row: dict, who: dict) -> None:
        self._clear(n, row, who)
        title = self._name()
        begin_layout(tank=self.glass[n], title=title, **who)
        row.update(title=title, version=(1, 0), stage="briefed")

    def _rename(self, n: int, row: dict, who: dict) -> None:
        row["code"] = self._name()
        rename_tank(tank=self.glass[n], code=row["code"], **who)

    def _stage(self, n: int, row: dict, who: dict) -> None:
        layout = layout_at(self.glass[n], who["at"])
        if layout is not None and layout.stage in NEXT:
            advance_stage(layout=layout, to=NEXT[layout.stage], **who)
            row["stage"] = NEXT[row["stage"]]

    def _plant(self, n: int, row: dict, who: dict) -> None:
        layout = layout_at(self.glass[n], who["at"])
        if layout is None:
            return
        number = len(row["groups"]) + 1
        how = {"place": "moss", "fixing": "glue", "leaf_colour": "red"}
        add_plant_group(layout=layout, species=[], number=number, **how, **who)
        add_hardscape(layout=layout, kind="stone", **who)
        row["groups"] = [*row["groups"], number]
        row["stones"] += 1

    def _retire(self, n: int, row: dict, who: dict) -> None:
        self._clear(n, row, who)
        retire_tank(tank=self.glass[n], **who)
        self.now[n] = None


class TestRandomHistories(TestCase):
    """One history after the other, each in a gallery of its own."""

    @settings(max_examples=10)
    @given(deeds=DEEDS)
    def test_every_moment_is_answered_as_the_diary_has_it(
        self, deeds: list[tuple[str, int]]
    ) -> None:
        diary = Diary()
        for step, (deed, n) in enumerate(deeds, start=1):
            diary.do(deed, n, AT + step * DAY)
        assert fleet_as_of(diary.showroom, AT - DAY) == []
        for at, stood in diary.entries.items():
            for moment in (at, at + DAY - timedelta(microseconds=1)):
                with CaptureQueriesContext(connection) as asked:
                    seen = _seen(fleet_as_of(diary.showroom, moment))
                assert seen == stood
                assert len(asked) <= 8
            for code, facts in stood.items():
                with CaptureQueriesContext(connection) as asked:
                    found = tank_as_of(diary.showroom, code, at)
                assert found is not None
                assert (found.code, found.tank.pk) == (code, facts[0])
                assert len(asked) <= 10


def test_a_tank_is_found_under_the_name_it_got_later_and_in_the_glass_before() -> None:
    tank = a_planted_tank("T01")
    boss = an_owner(tank.showroom)
    size = {"length_mm": 900, "width_mm": 450, "height_mm": 450, "glass_mm": 8}
    new = replace_glass(tank=tank, **size, by=boss, at=AT + DAY)
    rename_tank(tank=new, code="N7", by=boss, at=AT + 2 * DAY)
    then = tank_as_of(tank.showroom, "n7", AT)
    assert then is not None
    assert (then.tank.pk, then.code, then.layout.title) == (tank.pk, "T01", "Layout of T01")
    now = tank_as_of(tank.showroom, "T01", AT + 3 * DAY)
    assert now is not None
    assert (now.tank.pk, now.code, now.layout.title) == (new.pk, "N7", "Layout of T01")
    assert tank_as_of(tank.showroom, "T01", AT - DAY) is None
    with pytest.raises(Unknown):
        tank_as_of(a_showroom(), "T01", AT)
    with pytest.raises(Refused, match="out of service already"):
        replace_glass(tank=tank, **size, by=boss, at=AT + 3 * DAY)


def test_twelve_tanks_are_asked_for_as_often_as_three(django_assert_num_queries) -> None:
    showroom = a_showroom()
    for n in range(12):
        tank = a_planted_tank(f"P{n}", showroom=showroom)
        how = {"place": "moss", "fixing": "glue", "leaf_colour": "red", "number": 1}
        add_plant_group(layout=layout_at(tank, AT), species=[], by=an_owner(showroom), at=AT, **how)
        if n in {2, 11}:
            with django_assert_num_queries(8):
                assert len(fleet_as_of(showroom, AT)) == n + 1
