"""Do animals stay as many as they are, whatever is moved, split and put together?"""

from datetime import timedelta
from uuid import uuid4

import pytest

from gallery_ops.kernel.errors import Held, Refused, Unknown
from inventory.models import LivestockMovement
from inventory.queries.livestock import head_count, heads, heads_by_tank
from inventory.services import livestock
from tanks.models import Species
from tests.builders.gallery import AT, a_person, a_showroom, a_tank

pytestmark = pytest.mark.django_db


def a_species(name="Neocaridina davidi", kingdom="animal"):
    return Species.objects.get_or_create(scientific_name=name, defaults={"kingdom": kingdom})[0]


def a_batch(count=20, **more):
    tank = a_tank(showroom=a_showroom())
    carer = a_person(showroom=tank.showroom)
    row = livestock.arrive(tank=tank, species=a_species(), count=count, by=carer, at=AT, **more)
    return row.batch, tank, carer


def test_animals_arrive_and_are_counted_where_they_are():
    batch, tank, _carer = a_batch()
    (row,) = heads(tank.showroom)
    assert (row.tank_id, row.batch_id, row.count, row.certainty) == (
        tank.pk,
        batch.pk,
        20,
        "counted",
    )
    assert row.name == "Neocaridina davidi"
    assert heads(tank.showroom, AT - timedelta(hours=1)) == []
    assert heads(a_showroom()) == []


def test_moved_they_stay_as_many():
    batch, tank, carer = a_batch()
    other = a_tank(showroom=tank.showroom)
    livestock.move(batch=batch, tank_from=tank, tank_to=other, count=8, by=carer, at=AT)
    found = heads_by_tank(tank.showroom)
    assert (found[tank.pk][0].count, found[other.pk][0].count) == (12, 8)


def test_deaths_and_the_missing_leave_and_a_recount_is_no_death():
    batch, tank, carer = a_batch()
    livestock.die(batch=batch, tank=tank, count=2, by=carer, at=AT)
    livestock.miss(batch=batch, tank=tank, count=1, by=carer, at=AT)
    assert head_count(batch, tank) == 17
    more = livestock.recount(batch=batch, tank=tank, counted=30, by=carer, at=AT)
    assert (more.count, more.tank_to, more.tank_from) == (13, tank, None)
    fewer = livestock.recount(batch=batch, tank=tank, counted=28, by=carer, at=AT)
    assert (fewer.count, fewer.tank_to, fewer.tank_from) == (2, None, tank)
    agrees = livestock.recount(batch=batch, tank=tank, counted=28, by=carer, at=AT)
    assert agrees.count == 0
    livestock.come(batch=batch, tank=tank, count=5, by=carer, at=AT)
    assert head_count(batch, tank) == 33
    assert not LivestockMovement.objects.filter(kind="die", count__gt=2).exists()


def test_split_and_put_together_the_tank_holds_as_many():
    batch, tank, carer = a_batch()
    part = livestock.split_batch(batch=batch, tank=tank, count=7, by=carer, at=AT)
    assert (head_count(batch, tank), head_count(part, tank)) == (13, 7)
    merged = livestock.merge_batches(batch=part, into=batch, tank=tank, by=carer, at=AT)
    assert merged == 7
    assert (head_count(batch, tank), head_count(part, tank)) == (20, 0)
    fish = livestock.arrive(
        tank=tank, species=a_species("Boraras brigittae"), count=9, by=carer, at=AT
    ).batch
    with pytest.raises(Refused, match="one species"):
        livestock.merge_batches(batch=fish, into=batch, tank=tank, by=carer, at=AT)
    assert sum(row.count for row in heads(tank.showroom)) == 29


def test_more_than_are_counted_is_kept_for_a_person():
    batch, tank, carer = a_batch(count=2)
    with pytest.raises(Held, match="only 2 are counted there") as caught:
        livestock.die(batch=batch, tank=tank, count=3, by=carer, at=AT)
    assert caught.value.remedy
    assert head_count(batch, tank) == 2


def test_the_same_action_twice_is_one_movement_and_undone_is_undone_once():
    batch, tank, carer = a_batch()
    said = {"by": carer, "at": AT, "action_id": uuid4()}
    one = livestock.die(batch=batch, tank=tank, count=2, **said)
    assert livestock.die(batch=batch, tank=tank, count=2, **said) == one
    assert head_count(batch, tank) == 18
    back = livestock.take_back(movement=one, by=carer, at=AT)
    assert livestock.take_back(movement=one, by=carer, at=AT) == back
    assert head_count(batch, tank) == 20
    with pytest.raises(Refused, match="only takes back"):
        livestock.take_back(movement=back, by=carer, at=AT)


def test_what_cannot_be_is_refused():
    batch, tank, carer = a_batch()
    with pytest.raises(Refused, match="Count"):
        livestock.die(batch=batch, tank=tank, count=0, by=carer, at=AT)
    with pytest.raises(Refused, match="same tank"):
        livestock.move(batch=batch, tank_from=tank, tank_to=tank, count=1, by=carer, at=AT)
    with pytest.raises(Refused, match="not known"):
        livestock.leave(batch=batch, tank=tank, count=1, kind="born", by=carer, at=AT)
    with pytest.raises(Refused, match="plant"):
        livestock.arrive(
            tank=tank, species=a_species("Eleocharis", "plant"), count=1, by=carer, at=AT
        )
    with pytest.raises(Unknown):
        livestock.die(batch=batch, tank=a_tank(), count=1, by=carer, at=AT)
    with pytest.raises(Unknown):
        livestock.die(batch=batch, tank=tank, count=1, by=a_person(), at=AT)


@pytest.mark.once
def test_the_heads_of_the_fleet_are_counted_in_four_queries(django_assert_num_queries):
    _batch, tank, carer = a_batch()
    for wanted in (1, 8):
        for _ in range(wanted):
            livestock.arrive(
                tank=a_tank(showroom=tank.showroom),
                species=a_species(),
                count=5,
                by=carer,
                at=AT,
            )
        with django_assert_num_queries(4):
            found = heads(tank.showroom)
    assert sum(row.count for row in found) == 20 + 9 * 5
