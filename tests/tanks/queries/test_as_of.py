"""Whatever was moved, re-glazed, replanted, renamed, joined, parted or taken out: what stood there
then is answered, also under a code that another tank has by now.

Checked against a plain diary that writes down after every deed how all of it stands.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.overview.apart import Part, join, part, take_out
from gallery_ops.overview.new_glass import Glass
from tanks.models import Tank
from tanks.queries.as_of import AsOf, fleet_as_of, tank_as_of
from tanks.queries.layouts import layout_at
from tanks.queries.tanks import tank_by_code
from tanks.services.glass import replace_glass
from tanks.services.layouts import add_hardscape, add_plant_group, begin_layout, close_layout
from tanks.services.placements import into_service, move_tank, rename_tank
from tanks.services.stages import advance_stage
from tests.builders.gallery import AT, a_place, a_planted_tank, a_showroom, a_tank, an_owner

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
OF_PLACE = ["move", "rename", "rename", "glass", "glass", "join", "join", "part", "retire", "back"]
OF_LAYOUT = ["rescape", "clear", "stage", "stage", "plant"]
DEEDS = st.lists(
    st.tuples(st.sampled_from([*OF_PLACE, *OF_LAYOUT]), st.integers(0, 2)),
    min_size=6,
    max_size=10,
)
CODES = ["T0", "T1", "N2", "N3"]
NEXT = {"briefed": "hardscape", "hardscape": "planting", "planting": "start_up"}
Seen = dict[str, tuple[object, ...]]
SIZE = {"length_mm": 900, "width_mm": 450, "height_mm": 450, "glass_mm": 8}


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
    """Tanks with a place each; what is done to them, and how all stood afterwards.

    It knows nothing of periods: it keeps the present, and a copy of it after every deed. A tank is
    a number here, whatever glass it has; a part that goes is a tank of its own.
    """

    def __init__(self) -> None:
        self.showroom = a_showroom()
        self.boss = an_owner(self.showroom)
        self.now: list[dict[str, Any] | None] = []
        self.glass: list[Tank] = []
        self.joined: set[int] = set()
        self.titles = 0
        self.entries: dict[datetime, dict[int, tuple[str, tuple[object, ...]]]] = {}
        self.holders: dict[str, int] = {}
        for n in range(2):
            tank = a_tank(f"T{n}", showroom=self.showroom)
            self._stands(tank, f"T{n}", tank.placements.get().position_id)
        for n in range(2):
            self.do("rescape", n, AT)

    def _stands(self, tank: Tank, code: str, place: int | None) -> None:
        self.glass.append(tank)
        self.now.append({"code": code, "place": place, **self._vacant()})

    @staticmethod
    def _vacant() -> dict[str, Any]:
        return {"title": None, "version": None, "stage": "vacant", "groups": [], "stones": 0}

    def write(self, at: datetime) -> None:
        stood = {}
        for n, row in enumerate(self.now):
            if row is None:
                continue
            facts = (row["place"], row["title"], row["version"], row["stage"], list(row["groups"]))
            stood[n] = (row["code"], (self.glass[n].pk, *facts, row["stones"]))
            self.holders[row["code"]] = n
        self.entries[at] = stood

    def do(self, deed: str, n: int, at: datetime) -> None:
        n = n % len(self.now)
        row, who = self.now[n], {"by": self.boss, "at": at}
        if deed == "back":
            self._back(n, who)
        elif row is not None:
            getattr(self, f"_{deed}")(n, row, who)
        self.write(at)

    def _title(self) -> str:
        self.titles += 1
        return f"Title {self.titles}"

    def _free_code(self) -> str:
        """One of few codes, so that one tank gets the code that another one had."""
        taken = {row["code"] for row in self.now if row is not None}
        free = [code for code in CODES if code not in taken] or [f"M{len(self.entries)}"]
        return free[len(self.entries) % len(free)]

    def _move(self, n: int, row: dict[str, Any], who: dict[str, Any]) -> None:
        place = a_place(self.showroom)
        move_tank(tank=self.glass[n], position=place, **who)
        row["place"] = place.pk

    def _glass(self, n: int, _row: dict[str, Any], who: dict[str, Any]) -> None:
        self.glass[n] = replace_glass(tank=self.glass[n], **SIZE, **who)

    def _clear(self, n: int, row: dict[str, Any], who: dict[str, Any]) -> None:
        layout = layout_at(self.glass[n], who["at"])
        if layout is not None:
            close_layout(layout=layout, **who)
        row.update(self._vacant())

    def _rescape(self, n: int, row: dict[str, Any], who: dict[str, Any]) -> None:
        self._clear(n, row, who)
        title = self._title()
        begin_layout(tank=self.glass[n], title=title, **who)
        row.update(title=title, version=(1, 0), stage="briefed")

    def _rename(self, n: int, row: dict[str, Any], who: dict[str, Any]) -> None:
        row["code"] = self._free_code()
        rename_tank(tank=self.glass[n], code=row["code"], **who)

    def _stage(self, n: int, row: dict[str, Any], who: dict[str, Any]) -> None:
        layout = layout_at(self.glass[n], who["at"])
        if layout is not None and layout.stage in NEXT:
            advance_stage(layout=layout, to=NEXT[layout.stage], **who)
            row["stage"] = NEXT[row["stage"]]

    def _plant(self, n: int, row: dict[str, Any], who: dict[str, Any]) -> None:
        layout = layout_at(self.glass[n], who["at"])
        if layout is None:
            return
        number = len(row["groups"]) + 1
        how = {"place": "moss", "fixing": "glue", "leaf_colour": "red"}
        add_plant_group(layout=layout, species=[], number=number, **how, **who)
        add_hardscape(layout=layout, kind="stone", **who)
        row["groups"] = [*row["groups"], number]
        row["stones"] += 1

    def _retire(self, n: int, row: dict[str, Any], who: dict[str, Any]) -> None:
        take_out(code=row["code"], reason="It leaks", **who)
        self.now[n] = None

    def _join(self, n: int, row: dict[str, Any], who: dict[str, Any]) -> None:
        others = [one["code"] for m, one in enumerate(self.now) if one is not None and m != n]
        if others:
            join(code=row["code"], into=others[-1], reason="One pair was left", **who)
            self.now[n] = None
            self.joined.add(n)

    def _part(self, _n: int, row: dict[str, Any], who: dict[str, Any]) -> None:
        code = self._free_code()
        wanted = Part(code, Glass(450, 300, 300, 6, "float"), "", {})
        new = part(code=row["code"], wanted=wanted, reason="A wall", **who)
        self._stands(new.tank, code, None)

    def _back(self, n: int, who: dict[str, Any]) -> None:
        """Out of service and not joined: it stands again, at a place of its own."""
        if self.now[n] is None and n not in self.joined:
            place, code = a_place(self.showroom), self._free_code()
            tank = Tank.objects.get(pk=self.glass[n].pk)
            into_service(tank=tank, code=code, position=place, reason="It is tight", **who)
            self.now[n] = {"code": code, "place": place.pk, **self._vacant()}


class TestRandomHistories(TestCase):
    """One history after the other, each in a gallery of its own."""

    @settings(max_examples=10)
    @given(deeds=DEEDS)
    @example(deeds=[("rename", 0), ("glass", 0), ("rename", 1), ("join", 0), ("part", 1)])
    @example(deeds=[("part", 0), ("glass", 2), ("retire", 0), ("rename", 2), ("back", 0)])
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
                assert seen == dict(stood.values())
                assert len(asked) <= 8
            called = {code: n for n, (code, _facts) in stood.items()}
            for code, last in diary.holders.items():
                with CaptureQueriesContext(connection) as asked:
                    found = tank_as_of(diary.showroom, code, at)
                expected = stood.get(called.get(code, last))
                assert (found and _seen([found])) == (expected and dict([expected]))
                assert len(asked) <= 10
        for n, row in enumerate(diary.now):
            for code in [code for code, last in diary.holders.items() if last == n]:
                known = tank_by_code(diary.showroom, code, at)
                assert known.tank.pk == diary.glass[n].pk
                assert row is None or known.code == row["code"]


def test_a_tank_is_found_under_the_name_it_got_later_and_in_the_glass_before() -> None:
    tank = a_planted_tank("T01")
    boss = an_owner(tank.showroom)
    new = replace_glass(tank=tank, **SIZE, by=boss, at=AT + DAY)
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
        replace_glass(tank=tank, **SIZE, by=boss, at=AT + 3 * DAY)


@pytest.mark.once
def test_twelve_tanks_are_asked_for_as_often_as_three(django_assert_num_queries) -> None:
    showroom = a_showroom()
    for n in range(12):
        tank = a_planted_tank(f"P{n}", showroom=showroom)
        how = {"place": "moss", "fixing": "glue", "leaf_colour": "red", "number": 1}
        add_plant_group(layout=layout_at(tank, AT), species=[], by=an_owner(showroom), at=AT, **how)
        if n in {2, 11}:
            with django_assert_num_queries(8):
                assert len(fleet_as_of(showroom, AT)) == n + 1
