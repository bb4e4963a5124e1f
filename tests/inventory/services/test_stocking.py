"""May animals come in before the gate, while a tank settles, into an empty glass, or twice?"""

from __future__ import annotations

from datetime import timedelta

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.models import AuditEntry, Membership
from inventory.models import LivestockMovement
from inventory.queries.livestock import heads
from inventory.services.stocking import bring_in, count_again, let_go, settles_for, take_across
from tanks.models import Layout, Species, Tank
from tanks.services.gates import set_limit
from tests.builders.gallery import AT, a_person, a_planted_tank, a_showroom, a_tank, an_owner

pytestmark = pytest.mark.django_db
WEEK = timedelta(days=7)  # common practice, no source: 7 to 14 days between two groups


def shrimps() -> Species:
    return Species.objects.get_or_create(
        scientific_name="Neocaridina davidi", defaults={"kingdom": "animal"}
    )[0]


def bring(tank: Tank, by: Membership, count: int = 10, **more: object) -> LivestockMovement:
    here = sum(head.count for head in heads(tank.showroom, tank_ids=[tank.pk]))
    asked = {"tank": tank, "species": shrimps(), "count": count, "by": by, "at": AT, "seen": here}
    return bring_in(**{**asked, **more})  # type: ignore[arg-type]


@pytest.mark.parametrize("stage", ["briefed", "hardscape", "planting", "start_up", "teardown"])
def test_nothing_comes_in_before_the_first_gate_or_while_it_is_taken_down(stage: str) -> None:
    tank = a_planted_tank(stage=stage)
    with pytest.raises(Refused) as no:
        bring(tank, an_owner(tank.showroom), really=True, reason="The boss says so")
    assert no.value.code == ("taken_down" if stage == "teardown" else "before_gate")
    assert not heads(tank.showroom)


def test_a_second_group_waits_and_another_bag_of_the_same_day_does_not() -> None:
    tank = a_planted_tank(stage="grow_in")
    carer = a_person(showroom=tank.showroom)
    bring(tank, carer)
    bring(tank, carer, count=5)
    next_day = AT + timedelta(days=1)
    with pytest.raises(Refused) as no:
        bring(tank, carer, at=next_day)
    assert (no.value.code, "6 days" in no.value.sentence) == ("settles", True)
    bring(tank, carer, at=next_day, really=True)
    layout = Layout.objects.get(tank=tank)
    assert settles_for(tank, layout, next_day + WEEK - timedelta(days=1)) == 1
    assert settles_for(tank, layout, next_day + WEEK) == 0
    set_limit(
        showroom=tank.showroom,
        key="days_between_groups",
        number=14,
        reason="Slow tanks here",
        by=an_owner(tank.showroom),
        at=AT,
    )
    assert settles_for(tank, layout, next_day + WEEK) == 7


def test_an_empty_glass_holds_animals_by_the_word_of_who_plans_and_it_is_on_record() -> None:
    tank = a_tank(showroom=a_showroom())
    carer, owner = a_person(showroom=tank.showroom), an_owner(tank.showroom)
    with pytest.raises(Refused) as no:
        bring(tank, owner)
    assert no.value.code == "no_layout"
    with pytest.raises(Forbidden):
        bring(tank, carer, reason="Quarantine, two weeks")
    bring(tank, owner, reason="Quarantine, two weeks")
    assert AuditEntry.objects.get(deed="animals.held").reason == "Quarantine, two weeks"
    assert LivestockMovement.objects.get().batch.note == "Quarantine, two weeks"


def test_what_was_written_meanwhile_is_looked_at_first() -> None:
    tank = a_planted_tank(stage="show")
    carer = a_person(showroom=tank.showroom)
    bring(tank, carer)
    with pytest.raises(Refused) as no:
        bring(tank, carer, seen=0)
    assert no.value.code == "seen_before"
    batch = LivestockMovement.objects.get().batch
    for deed in (
        lambda: let_go(batch=batch, tank=tank, count=1, kind="sold", by=carer, at=AT, seen=9),
        lambda: count_again(batch=batch, tank=tank, counted=1, by=carer, at=AT, seen=9),
    ):
        with pytest.raises(Refused):
            deed()
    assert LivestockMovement.objects.count() == 1


def test_across_the_other_tank_is_asked_and_the_house_holds_as_many() -> None:
    tank = a_planted_tank(stage="show")
    other = a_planted_tank(stage="start_up", showroom=tank.showroom)
    carer = a_person(showroom=tank.showroom)
    batch = bring(tank, carer).batch
    across = {"batch": batch, "tank_from": tank, "count": 4, "by": carer, "at": AT, "seen": 10}
    with pytest.raises(Refused) as no:
        take_across(tank_to=other, **across)
    assert no.value.code == "before_gate"
    Layout.objects.filter(tank=other).update(stage="grow_in")
    take_across(tank_to=other, **across)
    assert [(row.tank_id, row.count) for row in heads(tank.showroom)] == [
        (tank.pk, 6),
        (other.pk, 4),
    ]
