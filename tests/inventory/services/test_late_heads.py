"""Does every tank hold as many as live there, whenever somebody hears of what happened to them?"""

from __future__ import annotations

from datetime import datetime, timedelta
from uuid import uuid4

import pytest

from gallery_ops.kernel.errors import Held
from gallery_ops.overview.apart import Part, join, part
from gallery_ops.overview.new_glass import Glass, reglaze
from inventory.models import LivestockBatch
from inventory.queries.livestock import head_count, heads
from inventory.services import livestock
from tanks.models import Tank
from tests.builders.fleet import AT, Fleet, a_fleet

pytestmark = pytest.mark.django_db

EARLY, NOON, EVENING = (AT + timedelta(hours=hours) for hours in (1, 4, 10))
HELD_THERE = 12
"""So many animals the fleet's builder puts into each tank, at AT."""


@pytest.fixture
def house() -> Fleet:
    return a_fleet(3, with_work=False)


def batch_of(house: Fleet) -> LivestockBatch:
    (head,) = heads(house.showroom, AT, tank_ids=[house.tanks[0].pk])
    return LivestockBatch.objects.get(pk=head.batch_id)


def new_glass(house: Fleet, at: datetime, seen: Tank) -> Tank:
    return reglaze(
        by=house.owner, code="T0001", wanted=Glass(600, 300, 540, 8, "float"), at=at,
        reason="A scratch", seen=str(seen.pk),
    ).tank  # fmt: skip


def test_a_death_heard_of_after_new_glass_is_one_less_there_at_every_moment(house: Fleet) -> None:
    batch, old = batch_of(house), house.tanks[0]
    first = new_glass(house, NOON, old)
    last = new_glass(house, NOON + timedelta(hours=2), first)
    said = {"by": house.owner, "at": EVENING, "done_at_corrected": EARLY}
    one = livestock.die(batch=batch, tank=old, count=2, action_id=uuid4(), **said)
    livestock.miss(batch=batch, tank=old, count=1, **said)
    livestock.come(batch=batch, tank=old, count=5, kind="born", **said)
    for when, counts in (
        (EARLY - timedelta(minutes=1), (12, 0, 0)),
        (EARLY, (14, 0, 0)),
        (NOON, (0, 14, 0)),
        (EVENING, (0, 0, 14)),
    ):
        found = tuple(head_count(batch, tank, when) for tank in (old, first, last))
        assert found == counts, when
    livestock.take_back(movement=one, by=house.owner, at=EVENING)
    assert [head_count(batch, tank) for tank in (old, first, last)] == [0, 0, 16]
    counted = livestock.recount(batch=batch, tank=old, counted=15, **said)
    assert (counted.count, head_count(batch, last)) == (1, 15)


def test_after_a_join_and_a_part_it_is_taken_from_where_they_went(house: Fleet) -> None:
    batch, (gone, into, other) = batch_of(house), house.tanks
    everyone = {batch.pk: HELD_THERE}
    apart = part(
        by=house.owner, code="T0001", at=NOON, reason="A wall was glued in",
        wanted=Part("T91", Glass(450, 300, 300, 6, "float"), "", everyone),
    ).tank  # fmt: skip
    join(by=house.owner, code="T91", into="T0002", at=NOON + timedelta(hours=1), reason="One tank")
    said = {"by": house.owner, "at": EVENING, "done_at_corrected": EARLY}
    livestock.die(batch=batch, tank=gone, count=3, **said)
    assert [head_count(batch, tank) for tank in (gone, apart, into, other)] == [0, 0, 9, 0]
    assert head_count(batch, apart, NOON) == 9
    arrived = livestock.arrive(tank=apart, species=batch.species, count=4, **said)
    assert [head_count(arrived.batch, tank) for tank in (apart, into)] == [0, 4]


def test_what_left_the_gallery_since_waits_for_a_person(house: Fleet) -> None:
    batch, tank = batch_of(house), house.tanks[0]
    livestock.leave(batch=batch, tank=tank, count=12, kind="sold", by=house.owner, at=NOON)
    with pytest.raises(Held, match="leaves 2 too few"):
        livestock.die(
            batch=batch, tank=tank, count=2, by=house.owner, at=EVENING, done_at_corrected=EARLY
        )
