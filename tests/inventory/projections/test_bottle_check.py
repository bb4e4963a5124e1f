"""A wrong bottle is a stop with its reason, whatever is typed or scanned."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import pytest

from gallery_ops.kernel.values.codes import new_code
from gallery_ops.kernel.values.quantity import Volume
from inventory.models import Container
from inventory.queries.bottle_check import BottleAnswer, check_bottle, code_in, too_old_from
from inventory.services.containers import finish
from inventory.services.supplies import connect_supply
from tanks.models import Tank
from tests.builders.gallery import AT, a_place, a_showroom, a_tank, an_owner
from tests.builders.stock import a_bottle, a_fertiliser, a_food, a_tub, feeds

pytestmark = pytest.mark.django_db

BEFORE = AT - timedelta(days=30)


@dataclass
class House:
    """Zone A is dosed from one bottle, T9 in zone B from its own."""

    tank: Tank
    bottle: Container
    other: Container
    spare: Container
    tub: Container

    def check(self, code: str, at=AT, **more: object) -> BottleAnswer:
        return check_bottle(
            showroom=self.tank.showroom,
            tank=self.tank,
            purpose=str(more.get("purpose", "dose")),
            code=code,
            at=at,
        )


@pytest.fixture
def house() -> House:
    showroom = a_showroom(at=BEFORE)
    an_owner(showroom, at=BEFORE)
    fertiliser = a_fertiliser(showroom, at=BEFORE, opened_life_days=365)
    tank = a_tank("T1", showroom=showroom, at=BEFORE)
    there = a_tank("T9", showroom=showroom, zone="B", at=BEFORE)
    bottle = a_bottle(fertiliser, name="Bottle of zone A", at=BEFORE, expires_on=date(2026, 12, 1))
    other = a_bottle(fertiliser, name="Bottle of T9", at=BEFORE)
    spare = a_bottle(fertiliser, name="Spare", at=BEFORE)
    tub = a_tub(a_food(showroom, at=BEFORE), name="Tub", at=BEFORE)
    feeds(bottle, purpose="dose", zone="A", at=BEFORE)
    feeds(other, purpose="dose", tank=there, at=BEFORE)
    return House(tank, bottle, other, spare, tub)


def test_the_one_connected_is_right_as_code_and_as_the_address_on_its_label(house: House) -> None:
    code = house.bottle.code
    for text in (
        code,
        code.lower(),
        f" {code[:4]}-{code[4:]} ",
        f"https://undershore.test/containers/{code}/",
        f"http://10.0.0.5:8000/containers/{code.lower()}/?from=label",
    ):
        answer = house.check(text)
        assert (answer.code, answer.is_right) == ("right", True), text
        assert answer.container == house.bottle


def test_each_wrong_one_is_a_stop_with_its_own_sentence(house: House) -> None:
    assert house.check(house.tub.code).sentence == (
        f"Wrong bottle: this is {house.tub.item.name}. This tank is fed from Bottle of zone A."
    )
    assert house.check(house.other.code).sentence == (
        "Wrong bottle: Bottle of T9 does not feed this tank. Bottle of zone A does."
    )
    unopened = house.check(house.spare.code)
    assert unopened.code == "unopened"
    assert "is open for this tank" in unopened.sentence
    assert house.check(house.tub.code, purpose="food").code == "not_connected"
    for text in ("", "2222", "0OI1L000", "x" * 400, "https://undershore.test/containers/"):
        assert house.check(text).code == "unreadable", text
    assert house.check(new_code()).code == "unknown"
    for wrong in (house.tub.code, house.other.code, house.spare.code, "", new_code()):
        answer = house.check(wrong)
        assert not answer.is_right
        assert answer.sentence
        assert answer.remedy.startswith(("Stop.", "Read the label"))


def test_a_finished_and_a_too_old_one_are_stops(house: House) -> None:
    assert too_old_from(house.bottle) == date(2026, 12, 1)
    assert house.check(house.bottle.code, at=AT.replace(month=11, day=30)).is_right
    late = house.check(house.bottle.code, at=AT.replace(month=12, day=1))
    assert late.sentence == "Bottle of zone A is past its date since 1 December 2026."
    owner = an_owner(house.tank.showroom)
    finish(container=house.bottle, by=owner, at=AT)
    connect_supply(container=house.spare, purpose="dose", tank=house.tank, by=owner, at=AT)
    after = house.check(house.bottle.code, at=AT + timedelta(hours=1))
    assert after.sentence == "Bottle of zone A was finished on 12 March 2026."
    assert house.check(house.spare.code, at=AT + timedelta(hours=1)).is_right


def test_a_strangers_bottle_is_unknown(house: House) -> None:
    theirs = a_bottle(a_fertiliser(a_showroom()), capacity=Volume.ml(500))
    assert house.check(theirs.code).code == "unknown"


def test_a_tank_that_stands_nowhere_is_not_fed_by_any_zone(house: House) -> None:
    a_place(house.tank.showroom, zone="C", at=BEFORE)
    assert code_in(house.bottle.code) == house.bottle.code
    assert house.check(house.bottle.code, at=BEFORE - timedelta(days=1)).code == "not_connected"
