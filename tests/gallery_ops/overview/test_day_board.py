"""A bar of the day counts the looks of the round that it stands for."""

from __future__ import annotations

import pytest

from gallery_ops.overview.day_board import day_board
from maintenance.models import DueTask
from maintenance.services.completions import complete
from maintenance.services.due_tasks import ensure
from maintenance.services.rota import plan_shift
from tests.maintenance.house import FIRST_DAY, START, House, a_carer, a_house, a_tank, on

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    made = a_house()
    for n in (1, 2):
        a_tank(made, f"T{n:02}")
    bram = a_carer(made, "Bram Tolliver", "C1", "C2")
    zone = made.positions["place of T01"].zone
    plan_shift(
        showroom=made.showroom, person=bram.person, from_at=on(FIRST_DAY, "07:00"),
        to_at=on(FIRST_DAY, "15:30"), by=made.owner, at=START, zone=zone,
    )  # fmt: skip
    ensure(showroom=made.showroom, at=START)
    return made


def test_a_look_at_noon_does_not_count_beside_the_opening(house: House) -> None:
    def look(key: str, code: str) -> None:
        task = DueTask.objects.get(
            template__key=key, tank=house.tanks[code], due_on=FIRST_DAY, state="open"
        )
        complete(due_task=task, by=house.owner, at=on(FIRST_DAY))

    def bars() -> dict[str, float]:
        board = day_board(house.showroom, on(FIRST_DAY, "08:30"))
        return {work.words: work.done for work in board.people[0].works}

    assert {"A: 0 / 2", "Midday look, 2"} <= set(bars())
    look("midday_look", "T01")
    assert bars()["A: 0 / 2"] == 0
    assert bars()["Midday look, 2"] == 0.5
    look("look", "T02")
    assert bars()["A: 1 / 2"] == 0.5
    assert bars()["Midday look, 2"] == 0.5
    assert day_board(house.showroom, on(FIRST_DAY, "08:30")).walk.seen == 2
