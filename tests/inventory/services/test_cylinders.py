"""Does an exchanged cylinder leave with its gas, and does the new one come with its own tare?"""

from datetime import timedelta
from uuid import uuid4

import pytest

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, CylinderDetail, Movement, Supply
from inventory.queries.levels import balance_base
from inventory.queries.supply import feeding_container
from inventory.services.cylinders import NewCylinder, add_cylinder, exchange
from inventory.services.weighing import record_weighing
from tests.builders.gallery import AT, a_person, a_showroom, a_tank, an_owner
from tests.builders.stock import a_cylinder, a_fertiliser, a_gas, a_scale, feeds

pytestmark = pytest.mark.django_db

LATER = AT + timedelta(days=180)


def a_new_one(serial="NEW 7", tare=Mass.g(1372)):  # noqa: B008 - frozen
    return NewCylinder(serial=serial, tare=tare, fill=Mass.g(500))


def test_an_exchange_swaps_serial_and_tare_and_keeps_what_it_feeds():
    showroom = a_showroom()
    gas, tank, scale = a_gas(showroom), a_tank(showroom=showroom), a_scale(showroom)
    old = a_cylinder(gas, tank=tank, regulator=Mass.g(430))
    carer = a_person(showroom=showroom)
    said = {"by": carer, "at": LATER, "action_id": uuid4()}
    new = exchange(old=old, cylinder=a_new_one(), gross_out=Mass.g(1375), scale=scale, **said)
    again = exchange(old=old, cylinder=a_new_one(), gross_out=Mass.g(1375), scale=scale, **said)
    assert new == again
    assert Container.objects.count() == 2
    old.refresh_from_db()
    assert old.finished_on == LATER.date()
    kinds = [
        (row.kind, row.amount_base) for row in Movement.objects.filter(container=old).order_by("pk")
    ]
    assert kinds == [("receipt", 500_000), ("measured_use", -475_000), ("return", -25_000)]
    assert balance_base(new) == 500_000
    detail = CylinderDetail.objects.get(container=new)
    assert (detail.serial, new.tare_mg, detail.regulator_mg) == ("NEW 7", 1_372_000, 430_000)
    assert feeding_container(showroom, tank, gas, "gas", LATER) == new
    assert feeding_container(showroom, tank, gas, "gas", LATER - timedelta(hours=1)) == old
    weighed = record_weighing(
        container=new, gross=Mass.g(1860), scale=scale, by=carer, at=LATER + timedelta(days=5)
    )
    assert weighed.net_base == 488_000, "by the new tare"


def test_unweighed_its_gas_goes_back_unmeasured():
    showroom = a_showroom()
    old = a_cylinder(a_gas(showroom), tank=a_tank(showroom=showroom))
    exchange(old=old, cylinder=a_new_one(), by=a_person(showroom=showroom), at=LATER)
    assert Movement.objects.get(container=old, kind="return").amount_base == -500_000
    assert Supply.objects.still().count() == 1


def test_one_cylinder_under_several_tanks_is_exchanged_under_all():
    showroom = a_showroom()
    gas = a_gas(showroom)
    first, second = a_tank(showroom=showroom), a_tank(showroom=showroom)
    old = a_cylinder(gas, tank=first)
    feeds(old, purpose="gas", tank=second)
    new = exchange(old=old, cylinder=a_new_one(), by=a_person(showroom=showroom), at=LATER)
    assert {s.tank for s in Supply.objects.still().filter(container=new)} == {first, second}


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"serial": " "}, "serial_missing"),
        ({"tare": Mass(0)}, "no_tare"),
        ({"serial": "sn7"}, "serial_here"),
    ],
)
def test_what_the_stamp_must_say_is_asked_for(change, code):
    showroom = a_showroom()
    gas = a_gas(showroom)
    a_cylinder(gas, serial="SN7")
    fields = {"serial": "SN8", "tare": Mass.g(1350), "fill": Mass.g(500), **change}
    with pytest.raises(Refused) as caught:
        add_cylinder(item=gas, cylinder=NewCylinder(**fields), by=an_owner(showroom), at=AT)
    assert caught.value.code == code
    assert caught.value.remedy


def test_a_serial_comes_back_when_its_cylinder_had_left():
    showroom = a_showroom()
    gas = a_gas(showroom)
    old = a_cylinder(gas, serial="SN7", tank=a_tank(showroom=showroom))
    by = an_owner(showroom)
    new = exchange(old=old, cylinder=a_new_one("SN8"), by=by, at=LATER)
    third = exchange(old=new, cylinder=a_new_one("SN7"), by=by, at=LATER + timedelta(days=1))
    assert third.cylinder.serial == "SN7"
    with pytest.raises(Refused, match="not a cylinder in use"):
        exchange(old=old, cylinder=a_new_one("SN9"), by=by, at=LATER + timedelta(days=2))


def test_fertiliser_comes_in_no_cylinder():
    showroom = a_showroom()
    with pytest.raises(Refused, match="does not come in cylinders"):
        add_cylinder(
            item=a_fertiliser(showroom), cylinder=a_new_one(), by=an_owner(showroom), at=AT
        )
