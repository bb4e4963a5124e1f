"""Glass, place and layout: moved, renamed, laid, staged, closed; old codes still find."""

from datetime import timedelta

import pytest

from gallery_ops.kernel.errors import Refused, Unknown
from tanks.models import StageChange
from tanks.queries.layouts import layout_at
from tanks.queries.tanks import fleet, tank_by_code
from tanks.services.layouts import begin_layout, close_layout
from tanks.services.placements import move_tank, rename_tank, retire_tank
from tanks.services.publishing import give_public_code
from tanks.services.stages import advance_stage
from tests.builders.gallery import AT, a_place, a_planted_tank, a_showroom, a_tank, an_owner

pytestmark = pytest.mark.django_db
LATER = AT + timedelta(days=3)


def test_an_old_code_still_finds_its_tank():
    tank = a_planted_tank("T01")
    rename_tank(tank=tank, code="N7", by=an_owner(tank.showroom), at=LATER)
    found = tank_by_code(tank.showroom, "t01", LATER)
    assert (found.tank.pk, found.code) == (tank.pk, "N7")
    assert tank_by_code(tank.showroom, "T01", AT).code == "T01"


def test_a_code_of_another_showroom_is_unknown():
    a_planted_tank("T01")
    with pytest.raises(Unknown):
        tank_by_code(a_showroom(), "T01", AT)


def test_what_stood_there_on_a_day_answers_across_a_rescape():
    tank = a_planted_tank("T01")
    boss = an_owner(tank.showroom)
    first = layout_at(tank, AT)
    close_layout(layout=first, by=boss, at=LATER)
    second = begin_layout(tank=tank, title="Second", by=boss, at=LATER + timedelta(days=2))
    assert layout_at(tank, LATER - timedelta(seconds=1)).pk == first.pk
    assert layout_at(tank, LATER + timedelta(days=1)) is None
    assert layout_at(tank, LATER + timedelta(days=3)).pk == second.pk


def test_two_layouts_cannot_stand_in_one_glass():
    tank = a_planted_tank("T01")
    with pytest.raises(Exception, match="A layout stands in this tank"):
        begin_layout(tank=tank, title="Second", by=an_owner(tank.showroom), at=LATER)


def test_a_moved_tank_stands_in_one_place():
    tank = a_planted_tank("T01")
    boss = an_owner(tank.showroom)
    there = a_place(tank.showroom, "by the door")
    move_tank(tank=tank, position=there, by=boss, at=LATER)
    assert tank_by_code(tank.showroom, "T01", LATER).position.pk == there.pk
    assert tank_by_code(tank.showroom, "T01", AT).position.pk != there.pk


def test_a_stage_out_of_order_needs_a_reason_and_says_who_let_it_pass():
    tank = a_planted_tank("T01", stage="start_up")
    boss = an_owner(tank.showroom)
    layout = layout_at(tank, AT)
    with pytest.raises(Refused) as no:
        advance_stage(layout=layout, to="show", by=boss, at=LATER)
    assert no.value.code == "stage_order"
    advance_stage(layout=layout, to="show", by=boss, at=LATER, override_reason="filming")
    last = StageChange.objects.order_by("pk").last()
    assert (last.stage_from, last.override_role) == ("start_up", "owner")


def test_a_tank_with_a_layout_is_not_retired_and_one_with_history_stays():
    tank = a_planted_tank("T01")
    boss = an_owner(tank.showroom)
    with pytest.raises(Refused):
        retire_tank(tank=tank, by=boss, at=LATER)
    close_layout(layout=layout_at(tank, AT), by=boss, at=LATER)
    retire_tank(tank=tank, by=boss, at=LATER)
    assert fleet(tank.showroom, LATER + timedelta(hours=1)) == []
    assert [row.code for row in fleet(tank.showroom, AT)] == ["T01"]


def test_a_public_code_is_given_once():
    tank = a_planted_tank("T01")
    boss = an_owner(tank.showroom)
    first = give_public_code(tank=tank, by=boss, at=AT)
    assert give_public_code(tank=tank, by=boss, at=LATER).pk == first.pk


@pytest.mark.once
def test_the_fleet_is_read_in_as_many_queries_for_three_as_for_twelve(
    django_assert_num_queries,
):
    showroom = a_showroom()
    for n in range(3):
        a_tank(f"S{n}", showroom=showroom)
    with django_assert_num_queries(5):
        assert len(fleet(showroom, AT)) == 3
    for n in range(9):
        a_planted_tank(f"P{n}", showroom=showroom)
    with django_assert_num_queries(5):
        assert len(fleet(showroom, AT)) == 12
