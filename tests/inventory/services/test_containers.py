"""Are containers received, opened, decanted, counted and finished without losing a drop?"""

from datetime import date, timedelta
from uuid import uuid4

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.values.codes import is_code
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Lot, Movement, Supply
from inventory.queries.levels import balance_base
from inventory.queries.supply import feeders, feeding_container
from inventory.services.containers import NewContainer, finish, open_container, receive
from inventory.services.counting import count, take_back_movement, waste
from inventory.services.decant import decant
from inventory.services.supplies import connect_supply, end_supply
from inventory.services.use import use_dose
from tests.builders.gallery import AT, a_person, a_showroom, a_tank, a_zone, an_owner
from tests.builders.stock import a_bottle, a_fertiliser, a_food, feeds

pytestmark = pytest.mark.django_db


def test_a_delivery_makes_a_lot_and_containers_with_codes_of_their_own():
    showroom = a_showroom()
    item = a_fertiliser(showroom)
    carer = a_person(showroom=showroom)
    action = uuid4()
    cans = [NewContainer(kind="can", capacity=Volume.l(5), tare=Mass.g(250))] * 2
    said = {"by": carer, "at": AT, "action_id": action}
    made = receive(item=item, containers=cans, expires_on=date(2028, 1, 1), **said)
    again = receive(item=item, containers=cans, expires_on=date(2028, 1, 1), **said)
    assert made == again
    assert len({one.code for one in made}) == 2
    assert all(is_code(one.code) for one in made)
    assert Lot.objects.get().expires_on == date(2028, 1, 1)
    assert [balance_base(one) for one in made] == [5_000_000, 5_000_000]
    assert [one.opened_on for one in made] == [None, None]


def test_a_can_opens_by_decanting_and_nothing_is_lost():
    showroom = a_showroom()
    item = a_fertiliser(showroom)
    can = a_bottle(item, kind="can", capacity=Volume.l(5), expires_on=date(2028, 6, 1))
    bottle = a_bottle(
        item, capacity=Volume.l(1), content=Volume.ml(200), expires_on=date(2027, 1, 1)
    )
    carer = a_person(showroom=showroom)
    open_container(container=bottle, by=carer, at=AT)
    later = AT + timedelta(days=30)
    action = uuid4()
    said = {"by": carer, "at": later, "action_id": action}
    out, came = decant(source=can, into=bottle, amount=Volume.ml(800), **said)
    assert decant(source=can, into=bottle, amount=Volume.ml(800), **said) == (out, came)
    assert out.amount_base + came.amount_base == 0
    assert (balance_base(can), balance_base(bottle)) == (4_200_000, 1_000_000)
    can.refresh_from_db()
    bottle.refresh_from_db()
    assert can.opened_on == later.date()
    assert bottle.opened_on == AT.date(), "the older opening stays"
    assert bottle.lot.expires_on == date(2027, 1, 1), "the earlier expiry stays"


def test_into_an_empty_bottle_lot_and_opening_come_with_the_content():
    showroom = a_showroom()
    item = a_fertiliser(showroom)
    can = a_bottle(item, kind="can", capacity=Volume.l(5), expires_on=date(2028, 6, 1))
    bottle = a_bottle(item, capacity=Volume.l(1), content=Volume.ml(3), expires_on=date(2027, 1, 1))
    carer = a_person(showroom=showroom)
    open_container(container=bottle, by=carer, at=AT)
    count(container=bottle, counted=Volume(0), by=carer, at=AT)
    later = AT + timedelta(days=30)
    decant(source=can, into=bottle, amount=Volume.l(1), by=carer, at=later)
    bottle.refresh_from_db()
    assert bottle.opened_on == later.date()
    assert bottle.lot == can.lot


def test_what_must_not_be_poured_together_is_refused():
    showroom = a_showroom()
    item = a_fertiliser(showroom)
    bottle = a_bottle(item)
    other = a_bottle(a_fertiliser(showroom))
    carer = a_person(showroom=showroom)
    for source, into, amount, code in (
        (bottle, bottle, Volume.ml(1), "same_container"),
        (bottle, other, Volume.ml(1), "other_item"),
        (bottle, a_bottle(item), Volume.ml(100), "above_full"),
        (bottle, a_bottle(item), Volume(0), "out_of_range"),
    ):
        with pytest.raises(Refused) as caught:
            decant(source=source, into=into, amount=amount, by=carer, at=AT)
        assert caught.value.code == code
    foreign = a_bottle(a_fertiliser(a_showroom()))
    with pytest.raises(Unknown):
        decant(source=bottle, into=foreign, amount=Volume.ml(1), by=carer, at=AT)


def test_a_count_posts_the_difference_and_one_that_agrees_says_so():
    showroom = a_showroom()
    bottle = a_bottle(a_fertiliser(showroom))
    carer = a_person(showroom=showroom)
    assert count(container=bottle, counted=Volume.ml(480), by=carer, at=AT).amount_base == -20_000
    assert count(container=bottle, counted=Volume.ml(480), by=carer, at=AT).amount_base == 0
    assert balance_base(bottle) == 480_000
    with pytest.raises(Refused, match=r"more than .* holds"):
        count(container=bottle, counted=Volume.l(5), by=carer, at=AT)


def test_waste_asks_for_a_reason_and_can_be_taken_back_by_a_senior_carer():
    showroom = a_showroom()
    bottle = a_bottle(a_fertiliser(showroom))
    carer = a_person(showroom=showroom)
    with pytest.raises(Refused, match="Reason"):
        waste(container=bottle, amount=Volume.ml(20), reason=" ", by=carer, at=AT)
    spilled = waste(container=bottle, amount=Volume.ml(20), reason="spilled", by=carer, at=AT)
    assert balance_base(bottle) == 480_000
    with pytest.raises(Forbidden):
        take_back_movement(movement=spilled, by=carer, at=AT)
    senior = a_person("senior_carer", showroom=showroom)
    take_back_movement(movement=spilled, by=senior, at=AT)
    take_back_movement(movement=spilled, by=senior, at=AT)
    assert balance_base(bottle) == 500_000


def test_a_finished_bottle_feeds_nothing_and_holds_nothing():
    showroom = a_showroom()
    item = a_fertiliser(showroom)
    tank = a_tank(showroom=showroom)
    bottle = a_bottle(item, content=Volume.ml(4))
    feeds(bottle, purpose="dose", tank=tank)
    carer = a_person(showroom=showroom)
    later = AT + timedelta(days=1)
    finish(container=bottle, by=carer, at=later)
    finish(container=bottle, by=carer, at=later + timedelta(days=1))
    bottle.refresh_from_db()
    assert bottle.finished_on == later.date()
    assert balance_base(bottle) == 0
    assert Movement.objects.filter(container=bottle).count() == 2
    assert feeding_container(showroom, tank, item, "dose", later) is None
    assert feeding_container(showroom, tank, item, "dose", later - timedelta(hours=1)) == bottle
    with pytest.raises(Refused, match="finished"):
        connect_supply(container=bottle, purpose="dose", tank=tank, by=carer, at=later)


def test_connecting_the_next_bottle_closes_the_period_of_the_one_before():
    showroom = a_showroom()
    item = a_fertiliser(showroom)
    first, second = a_bottle(item), a_bottle(item)
    carer = a_person(showroom=showroom)
    a_tank(showroom=showroom)
    zone = a_zone(showroom)
    one = connect_supply(container=first, purpose="dose", zone=zone, by=carer, at=AT)
    assert connect_supply(container=first, purpose="dose", zone=zone, by=carer, at=AT) == one
    later = AT + timedelta(hours=1)
    two = connect_supply(container=second, purpose="dose", zone=zone, by=carer, at=later)
    one.refresh_from_db()
    second.refresh_from_db()
    assert (one.to_at, two.from_at, two.to_at) == (later, later, None)
    assert second.opened_on == later.date()
    with pytest.raises(Refused, match="connected there after"):
        connect_supply(container=first, purpose="dose", zone=zone, by=carer, at=later, done_at=AT)
    end_supply(supply=two, by=carer, at=later + timedelta(hours=1))
    assert Supply.objects.still().count() == 0


def test_tank_or_zone_not_both_and_not_a_strangers():
    showroom = a_showroom()
    bottle = a_bottle(a_fertiliser(showroom))
    carer = a_person(showroom=showroom)
    tank, zone = a_tank(showroom=showroom), a_zone(showroom)
    for target in ({}, {"tank": tank, "zone": zone}):
        with pytest.raises(Refused, match="not both"):
            connect_supply(container=bottle, purpose="dose", by=carer, at=AT, **target)
    with pytest.raises(Unknown):
        connect_supply(container=bottle, purpose="dose", tank=a_tank(), by=carer, at=AT)


def test_a_capacity_of_another_dimension_is_refused_with_the_unit():
    showroom = a_showroom()
    with pytest.raises(Refused, match="a mass in g or kg"):
        receive(
            item=a_food(showroom),
            containers=[NewContainer(kind="tub", capacity=Volume.ml(5))],
            by=an_owner(showroom),
            at=AT,
        )
    assert Lot.objects.count() == 0


def test_opening_is_in_the_audit_trail():
    showroom = a_showroom()
    bottle = a_bottle(a_fertiliser(showroom))
    open_container(container=bottle, by=a_person(showroom=showroom), at=AT)
    line = AuditEntry.objects.get(deed="container.opened")
    assert (line.subject_key, line.after) == (str(bottle.pk), {"opened_on": "2026-03-12"})


@pytest.mark.once
def test_what_feeds_the_fleet_is_known_in_as_many_queries_for_two_tanks_as_for_twelve(
    django_assert_num_queries,
):
    showroom = a_showroom()
    item = a_fertiliser(showroom)
    feeds(a_bottle(item, name="bottle of zone A"), purpose="dose", zone="A")
    for number in range(2):
        a_tank(f"T{number:02}", showroom=showroom)
    with django_assert_num_queries(3):
        assert len(feeders(showroom, AT)) == 2
    for number in range(2, 12):
        tank = a_tank(f"T{number:02}", showroom=showroom)
        feeds(a_bottle(item), purpose="dose", tank=tank)
    with django_assert_num_queries(3):
        found = feeders(showroom, AT)
    assert len(found) == 12
    assert sum(one.by_zone for one in found.values()) == 2


def test_a_count_taken_back_after_a_late_use_leaves_only_the_use():
    showroom = a_showroom()
    item, tank = a_fertiliser(showroom), a_tank(showroom=showroom)
    bottle = a_bottle(item)
    feeds(bottle, purpose="dose", tank=tank)
    senior = a_person("senior_carer", showroom=showroom)
    later = AT + timedelta(hours=2)
    counted = count(container=bottle, counted=Volume.ml(400), by=senior, at=later)
    use_dose(
        tank=tank,
        item=item,
        given=Volume.ml(3),
        by=senior,
        at=later + timedelta(hours=1),
        done_at=AT + timedelta(hours=1),
    )
    assert balance_base(bottle) == 400_000, "the count had seen it"
    take_back_movement(movement=counted, by=senior, at=later + timedelta(hours=2))
    assert balance_base(bottle) == 497_000
