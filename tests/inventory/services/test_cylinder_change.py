"""Is a cylinder changed only by who may, with every step done, and booked as one deed?"""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.services.people import grant_skill
from gallery_ops.kernel.values.quantity import Mass, Pieces
from inventory.models import CylinderDetail, Movement, Supply, Weighing
from inventory.queries.levels import balance_base
from inventory.services.containers import NewContainer, receive
from inventory.services.cylinder_change import ChangeDone, change_cylinder, take_washer
from inventory.services.cylinder_steps import STEPS
from inventory.services.cylinders import NewCylinder
from inventory.services.items import add_item
from tests.builders.gallery import AT, a_person, a_showroom, a_tank, an_owner
from tests.builders.stock import a_cylinder, a_gas, a_scale

pytestmark = pytest.mark.django_db

LATER = AT + timedelta(days=200)


def a_new_one(**changes):
    fields = {
        "serial": "NEW 7", "tare": Mass.g(1372), "fill": Mass.g(500),
        "tested_on": date(2024, 5, 1), **changes,
    }  # fmt: skip
    return NewCylinder(**fields)


def ticked(**changes):
    steps = {step: LATER - timedelta(minutes=20 - n) for n, step in enumerate(STEPS)}
    return ChangeDone(**{"steps": steps, "bubbles": False, **changes})


@pytest.fixture
def house():
    showroom = a_showroom()
    by = a_person(showroom=showroom)
    _sign_off_for(by)
    tank = a_tank(showroom=showroom)
    old = a_cylinder(a_gas(showroom), tank=tank, regulator=Mass.g(430))
    return showroom, by, tank, old


def _sign_off_for(member):

    grant_skill(
        membership=member,
        skill="C3",
        by=an_owner(member.showroom),
        signed_off_on=AT.date(),
        at=AT,
    )


def change(old, by, new=None, **changes):
    done = changes.pop("done", ticked())
    fields = {"old_stays": False, **changes}
    return change_cylinder(old=old, new=new or a_new_one(), done=done, by=by, at=LATER, **fields)


def test_a_change_is_one_deed_with_both_weighings_and_its_steps(house):
    showroom, by, tank, old = house
    scale = a_scale(showroom)
    done = ticked(
        gross_out=Mass.g(1805), out_regulator_on=True, gross_in=Mass.g(2300), scale=scale,
        in_regulator_on=True,
    )  # fmt: skip
    new = change(old, by, done=done)
    old.refresh_from_db()
    assert old.finished_on == LATER.date()
    assert [s.tank for s in Supply.objects.still().filter(container=new)] == [tank]
    assert [w.net_base for w in Weighing.objects.order_by("pk")] == [25_000, 498_000]
    entry = AuditEntry.objects.get(deed="cylinder.changed")
    assert set(entry.after["steps"]) == set(STEPS)
    assert entry.person == by.person


def test_the_old_one_may_wait_marked_empty_and_one_of_the_store_take_its_place(house):
    _showroom, by, tank, old = house
    spare = a_cylinder(old.item, serial="K-9")
    new = change(old, by, new=spare, old_stays=True)
    assert new.pk == spare.pk
    assert CylinderDetail.objects.get(container=old).is_marked_empty
    assert CylinderDetail.objects.get(container=old).regulator_mg is None
    assert CylinderDetail.objects.get(container=new).regulator_mg == 430_000
    old.refresh_from_db()
    assert old.finished_on is None
    assert [s.container for s in Supply.objects.still().filter(tank=tank)] == [spare]
    with pytest.raises(Refused, match="is marked EMPTY"):
        change(spare, by, new=old)


def test_only_c3_changes_it(house):
    showroom, _by, _tank, old = house
    other = a_person("senior_carer", showroom=showroom)
    with pytest.raises(Refused, match="needs C3"):
        change(old, other)


@pytest.mark.parametrize(
    ("done", "code"),
    [
        ({"steps": {}}, "steps_left"),
        ({"bubbles": None}, "soap_unsaid"),
        ({"bubbles": True}, "bubbles"),
        ({"steps": dict.fromkeys(STEPS, LATER + timedelta(minutes=1))}, "step_time"),
        ({"steps": dict.fromkeys(STEPS, LATER - timedelta(hours=13))}, "step_time"),
    ],
)
def test_nothing_is_booked_before_the_list_is_done(house, done, code):
    _showroom, by, _tank, old = house
    with pytest.raises(Refused) as caught:
        change(old, by, done=ticked(**done))
    assert caught.value.code == code
    assert not Movement.objects.filter(container=old).exclude(kind="receipt").exists()
    assert Supply.objects.still().filter(container=old).exists()


def test_which_steps_are_missing_is_said_by_name(house):
    _showroom, by, _tank, old = house
    steps = {step: LATER for step in STEPS if step not in {"soap", "hold"}}
    with pytest.raises(Refused, match="2 of 13 steps") as caught:
        change(old, by, done=ticked(steps=steps))
    assert set(caught.value.fields) == {"step_soap", "step_hold"}


@pytest.mark.parametrize(
    ("stamp", "words"),
    [
        ({"tested_on": None}, "nobody read its test stamp"),
        (
            {"tested_on": date(2014, 5, 1), "test_rule": "adr_co2"},
            "not put up: its test ran out on 1 May 2024",
        ),
    ],
)
def test_a_new_one_out_of_test_is_not_put_up(house, stamp, words):
    _showroom, by, _tank, old = house
    with pytest.raises(Refused, match=words):
        change(old, by, new=a_new_one(**stamp))


def test_from_five_kilograms_on_two_people_are_there(house):
    showroom, by, _tank, old = house
    heavy = a_new_one(fill=Mass.kg(5), tare=Mass.kg(7))
    with pytest.raises(Refused, match="two people move it"):
        change(old, by, new=heavy)
    new = change(old, by, new=heavy, done=ticked(second=an_owner(showroom)))
    assert new.capacity_base == 5_000_000


@pytest.mark.once
def test_taking_a_washer_asks_as_often_for_ten_bags_as_for_one():
    by = an_owner(a_showroom())
    washers = add_item(
        showroom=by.showroom, code="washers", name="CO2 washer", kind="other", dimension="piece",
        by=by, at=AT,
    )  # fmt: skip
    counts = []
    for bags in (1, 9):
        receive(
            item=washers, containers=[NewContainer("bag", Pieces(20 + bags))] * bags, by=by, at=AT
        )
        with CaptureQueriesContext(connection) as asked:
            take_washer(washers, by, AT)
        counts.append(len(asked))
    assert counts[0] == counts[1]
    left = Movement.objects.filter(reason="washer of a cylinder change")
    # the bag with the fewest, both times
    assert len({row.container_id for row in left}) == 1


def test_a_washer_leaves_the_stock_and_without_one_nothing_is_done(house):
    showroom, by, _tank, old = house
    washers = add_item(
        showroom=showroom, code="washer", name="CO2 washer", kind="other", dimension="piece",
        by=an_owner(showroom), at=AT,
    )  # fmt: skip
    with pytest.raises(Refused, match="the books hold none"):
        change(old, by, done=ticked(washer=washers))
    assert Supply.objects.still().filter(container=old).exists(), "all of it is taken back"
    (box,) = receive(
        item=washers,
        containers=[NewContainer(kind="bag", capacity=Pieces(10))],
        by=by,
        at=AT,
    )
    change(old, by, done=ticked(washer=washers))
    assert balance_base(box) == 9
