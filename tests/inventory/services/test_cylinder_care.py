"""Is a cylinder's stamp kept as read, is it moved only with help, and does a refill add up?"""

from datetime import date, timedelta

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.services.people import grant_skill
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import CylinderDetail, Movement, Supply
from inventory.queries.levels import balance_base
from inventory.services.cylinder_care import (
    correct_cylinder,
    mark_empty,
    retire_cylinder,
    stand_cylinder,
)
from inventory.services.cylinder_refill import OnScale, Stamp, back_from_refill, send_for_refill
from inventory.services.cylinder_steps import PUT_UP, TAKE_DOWN
from inventory.services.cylinders import NewCylinder, add_cylinder
from tests.builders.gallery import AT, a_person, a_room, a_showroom, a_tank, an_owner
from tests.builders.stock import a_cylinder, a_gas, a_scale

pytestmark = pytest.mark.django_db

LATER = AT + timedelta(days=100)
DOWN = dict.fromkeys(TAKE_DOWN, LATER)


def up(at):
    """Everything ticked that belongs to putting one up."""
    return {"steps": dict.fromkeys(PUT_UP, at), "bubbles": False}


GOOD = Stamp(date(2024, 5, 1), date(2034, 5, 1), "typed", "05/24")


def stamped(showroom, **stamp):
    fields = {"serial": "B-0417", "tare": Mass.kg("7.48"), "fill": Mass.kg(5), **stamp}
    return add_cylinder(
        item=a_gas(showroom), cylinder=NewCylinder(**fields), by=an_owner(showroom), at=AT
    )


def test_the_stamp_is_kept_as_read_and_a_rule_only_where_one_is_named():
    showroom = a_showroom()
    plain = stamped(showroom, stamp="  2021/05 TUV 4411 ", tested_on=date(2021, 5, 1)).cylinder
    assert (plain.stamp, plain.next_test_on, plain.test_rule) == ("2021/05 TUV 4411", None, "")
    named = stamped(
        showroom, serial="B-2", tested_on=date(2021, 5, 1), test_rule="us_3al_co2"
    ).cylinder
    assert (named.next_test_on, named.test_rule) == (date(2026, 5, 1), "us_3al_co2")
    typed = stamped(
        showroom, serial="B-3", next_test_on=date(2030, 1, 1), test_rule="typed"
    ).cylinder
    assert typed.next_test_on == date(2030, 1, 1)


@pytest.mark.parametrize(
    ("stamp", "field", "words"),
    [
        ({"tested_on": date(2026, 3, 13)}, "tested_on", "still to come"),
        ({"tested_on": date(1970, 1, 1)}, "tested_on", "too far back"),
        ({"test_rule": "adr_co2"}, "tested_on", "nothing to count from"),
        ({"test_rule": "ten years"}, "test_rule", "none of those with a name"),
        ({"test_rule": "typed"}, "next_test_on", "nothing was given"),
        (
            {"tested_on": date(2024, 1, 1), "next_test_on": date(2023, 1, 1), "test_rule": "typed"},
            "next_test_on",
            "not after the last test",
        ),
        ({"fill": Mass.kg(61)}, "fill", "61 kg is not allowed"),
        ({"fill": Mass(0)}, "fill", "is not allowed"),
    ],
)
def test_a_stamp_that_cannot_be_is_refused_with_words(stamp, field, words):
    with pytest.raises(Refused, match=words) as caught:
        stamped(a_showroom(), **stamp)
    assert field in caught.value.fields


def corrected(container, **changes):
    detail = container.cylinder
    fields = {
        "serial": detail.serial, "tare": Mass(container.tare_mg), "fill": Mass(detail.fill_mg),
        "regulator": None, "tested_on": None, "next_test_on": None, "test_rule": "", "stamp": "",
        "is_exchange": True, "held_by": "", "name": "", "by": an_owner(container.showroom),
        "at": LATER, **changes,
    }  # fmt: skip
    return correct_cylinder(container=container, **fields)


def test_what_was_read_wrong_is_put_right_with_the_right_to():
    showroom = a_showroom()
    one = stamped(showroom)
    other = a_cylinder(a_gas(showroom), serial="K-1")
    done = corrected(one, serial="B-0418", tare=Mass.kg("7.5"), regulator=Mass.g(640))
    one.refresh_from_db()
    assert (done.serial, one.tare_mg, done.regulator_mg) == ("B-0418", 7_500_000, 640_000)
    with pytest.raises(Refused, match="in the house already"):
        corrected(one, serial="k-1")
    with pytest.raises(Refused, match="Regulator: 6 kg is not allowed"):
        corrected(one, regulator=Mass.kg(6))
    with pytest.raises(Forbidden):
        corrected(other, by=a_person(showroom=showroom))


def test_shares_of_a_manifold_are_a_thousand_in_all():
    showroom = a_showroom()
    tanks = [a_tank(showroom=showroom) for _ in range(3)]
    one = a_cylinder(a_gas(showroom), fill=Mass.kg(2))
    by = an_owner(showroom)
    where = {"room": None, "place": "plinth", "held_by": "chain", "by": by, "at": LATER}
    with pytest.raises(Refused, match="needs C3"):
        stand_cylinder(container=one, shares={tanks[0]: 1000}, **where)
    _sign_off(by)
    shares = dict(zip(tanks, (333, 333, 334), strict=True))
    with pytest.raises(Refused, match="9 of 9 steps are not ticked yet"):
        stand_cylinder(container=one, shares=shares, **where)
    with pytest.raises(Refused, match="nobody said whether bubbles came"):
        stand_cylinder(container=one, shares=shares, steps=up(LATER)["steps"], **where)
    stand_cylinder(container=one, shares=shares, **up(LATER), **where)
    found = Supply.objects.still().filter(container=one).order_by("pk")
    assert [s.share_permille for s in found] == [333, 333, 334]
    for bad in ((333, 333, 333), (1000, 0, 0), (999, 1, 1)):
        with pytest.raises(Refused, match="thousandths in all"):
            stand_cylinder(container=one, shares=dict(zip(tanks, bad, strict=True)), **where)
    stand_cylinder(container=one, shares={tanks[0]: 1000}, **where)
    assert [s.tank for s in Supply.objects.still().filter(container=one)] == [tanks[0]]
    one.refresh_from_db()
    assert (one.place, CylinderDetail.objects.get(container=one).held_by) == ("plinth", "chain")


def test_five_kilograms_are_not_moved_by_one_person_alone():
    showroom = a_showroom()
    heavy, by = stamped(showroom), a_person(showroom=showroom)
    store = a_room(showroom, "Store")
    where = {"shares": {}, "room": store, "place": "", "held_by": "", "by": by, "at": LATER}
    for second in (None, by):
        with pytest.raises(Refused, match="two people move it"):
            stand_cylinder(container=heavy, second=second, **where)
    stand_cylinder(container=heavy, second=an_owner(showroom), **where)
    stand_cylinder(container=heavy, **{**where, "held_by": "cage"})
    assert CylinderDetail.objects.get(container=heavy).held_by == "cage", "only noted, not carried"


def test_a_strangers_tank_room_and_colleague_are_unknown():
    showroom, other = a_showroom(), a_showroom()
    heavy = stamped(showroom)
    where = {"place": "", "held_by": "", "by": an_owner(showroom), "at": LATER}
    with pytest.raises(Unknown):
        stand_cylinder(container=heavy, shares={}, room=a_room(other, "Store"), **where)
    _sign_off(an_owner(showroom))
    with pytest.raises(Unknown):
        stand_cylinder(container=heavy, shares={a_tank(showroom=other): 1000}, room=None, **where)
    with pytest.raises(Refused, match="nobody of that name works here"):
        stand_cylinder(
            container=heavy,
            shares={},
            room=a_room(showroom, "Store"),
            second=an_owner(other),
            **where,
        )


def test_empty_is_marked_only_when_it_is_down_and_feeds_nothing_then():
    showroom = a_showroom()
    tank = a_tank(showroom=showroom)
    one, by = a_cylinder(a_gas(showroom), tank=tank), an_owner(showroom)
    with pytest.raises(Refused, match="is connected to a tank"):
        mark_empty(container=one, by=by, at=LATER)
    with pytest.raises(Refused, match="is connected to a tank"):
        retire_cylinder(container=one, reason="scrapped", by=by, at=LATER)
    where = {"room": None, "place": "", "held_by": "", "by": by, "at": LATER}
    _sign_off(by)
    with pytest.raises(Refused, match="5 of 5 steps are not ticked yet"):
        stand_cylinder(container=one, shares={}, **where)
    stand_cylinder(container=one, shares={}, steps=DOWN, **where)
    assert mark_empty(container=one, by=by, at=LATER).is_marked_empty
    with pytest.raises(Refused, match="is marked EMPTY"):
        stand_cylinder(container=one, shares={tank: 1000}, **where)
    with pytest.raises(Refused, match="why does it leave"):
        retire_cylinder(container=one, reason=" ", by=by, at=LATER)
    retire_cylinder(container=one, reason="valve bent, scrapped", by=by, at=LATER)
    assert balance_base(one) == 0
    with pytest.raises(Refused, match="has left the house"):
        mark_empty(container=one, by=by, at=LATER, is_empty=False)


def an_own_one(showroom, **stamp):
    fields = {"is_exchange": False, "fill": Mass.kg(2), "tare": Mass.g(3120), **stamp}
    return stamped(showroom, **fields)


def test_a_refill_goes_away_and_comes_back_with_its_receipt():
    showroom = a_showroom()
    tank, scale, by = a_tank(showroom=showroom), a_scale(showroom), an_owner(showroom)
    own = an_own_one(showroom, next_test_on=date(2030, 1, 1), test_rule="typed")
    where = {"room": None, "place": "", "held_by": "", "by": by, "at": AT}
    _sign_off(by)
    stand_cylinder(container=own, shares={tank: 1000}, **up(AT), **where)
    with pytest.raises(Refused, match="needs C3"):
        send_for_refill(container=own, by=a_person(showroom=showroom), at=LATER)
    weighed = OnScale(Mass.g(3210), scale)
    with pytest.raises(Refused, match="5 of 5 steps are not ticked yet"):
        send_for_refill(container=own, weighed=weighed, by=by, at=LATER)
    detail = send_for_refill(container=own, weighed=weighed, steps=DOWN, by=by, at=LATER)
    assert detail.away_on == LATER.date()
    assert balance_base(own) == 90_000
    assert not Supply.objects.still().filter(container=own).exists()
    with pytest.raises(Refused, match="away for a refill since"):
        send_for_refill(container=own, by=by, at=LATER)
    back = LATER + timedelta(days=6)
    full = OnScale(Mass.g(5118), scale)
    with pytest.raises(Refused, match="it was not filled"):
        back_from_refill(
            container=own, weighed=OnScale(Mass.g(3205), scale), stamp=GOOD, by=by, at=back
        )
    detail = back_from_refill(container=own, weighed=full, stamp=GOOD, by=by, at=back)
    assert (detail.away_on, detail.next_test_on, detail.stamp) == (None, GOOD.next_test_on, "05/24")
    assert balance_base(own) == 1_998_000
    receipt = Movement.objects.get(container=own, reason="refilled")
    assert (receipt.kind, receipt.amount_base) == ("receipt", 1_908_000)
    with pytest.raises(Refused, match="is not away"):
        back_from_refill(container=own, weighed=full, stamp=GOOD, by=by, at=back)


@pytest.mark.parametrize(
    ("stamp", "words"),
    [
        ({}, "nobody wrote down when its next test is due"),
        ({"next_test_on": AT.date(), "test_rule": "typed"}, "its test ran out on 12 March 2026"),
        (
            {"tested_on": date(2016, 1, 1), "test_rule": "adr_co2"},
            "its test ran out on 1 January 2026",
        ),
    ],
)
def test_no_cylinder_out_of_test_is_filled(stamp, words):
    showroom = a_showroom()
    own = an_own_one(showroom, **stamp)
    with pytest.raises(Refused, match=words):
        send_for_refill(container=own, by=an_owner(showroom), at=AT)
    assert CylinderDetail.objects.get(container=own).away_on is None


def test_the_suppliers_own_is_not_refilled():
    showroom = a_showroom()
    one = stamped(showroom, next_test_on=date(2030, 1, 1), test_rule="typed")
    with pytest.raises(Refused, match="exchanged, not refilled"):
        send_for_refill(container=one, by=an_owner(showroom), at=AT)


def _sign_off(member):
    grant_skill(
        membership=member,
        skill="C3",
        by=member,
        signed_off_on=AT.date(),
        at=AT,
    )
