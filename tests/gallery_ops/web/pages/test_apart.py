"""A tank leaves, joins another, or parts: heads sum to the same and old codes lead on."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.apart import Part, join, part, take_out
from gallery_ops.overview.new_glass import Glass
from gallery_ops.overview.spec_of import spec_page
from inventory.models import LivestockMovement, Supply, UsePlan
from inventory.queries.livestock import heads
from inventory.queries.plans import planned_for_day
from inventory.queries.supply import feeders
from tanks.models import Equipment, Layout, Placement, Tank
from tanks.queries.as_of import tank_as_of
from tanks.queries.layouts import groups_before
from tanks.queries.tanks import fleet, tank_by_code
from tanks.services.equipment import put_on
from tanks.services.layouts import begin_layout
from tanks.services.places import add_position
from tanks.services.publishing import give_public_code
from tests.builders.fleet import AT, Fleet, a_fleet
from tests.builders.people import a_member
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db

LATER = AT + timedelta(hours=1)


@pytest.fixture
def house(monkeypatch: pytest.MonkeyPatch) -> Fleet:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T09:08")
    return a_fleet(4, with_work=False)


def code_of(tank: Tank) -> str:
    return str(tank.codes.order_by("-from_at")[0].code)


def a_part(counts: dict[int, int], place: str = "") -> Part:
    return Part("T91", Glass(450, 300, 300, 6, "low_iron"), place, counts)


def counted(house: Fleet) -> dict[str, int]:
    found: dict[str, int] = {}
    for head in heads(house.showroom, LATER):
        code = code_of(Tank.objects.get(pk=head.tank_id))
        found[code] = found.get(code, 0) + head.count
    return found


def test_joined_its_animals_and_its_old_label_go_into_the_other_one(house: Fleet) -> None:
    gone, into = house.tanks[0], house.tanks[1]
    before, label = counted(house), give_public_code(tank=gone, by=house.owner, at=AT).code
    codes = code_of(gone), code_of(into)
    assert before[codes[0]] > 0
    join(by=house.owner, code=codes[0], into=codes[1], at=LATER, reason="One pair was left")
    after = counted(house)
    assert after == {
        code: n + (before[codes[0]] if code == codes[1] else 0)
        for code, n in before.items()
        if code != codes[0]
    }
    assert sum(after.values()) == sum(before.values())
    assert codes[0] not in {row.code for row in fleet(house.showroom, LATER)}
    old = tank_by_code(house.showroom, codes[0], LATER)
    assert (old.tank, old.tank.went_into, old.layout) == (gone, into, None)
    assert Layout.objects.get(tank=gone).lessons == "One pair was left"
    assert not Supply.objects.filter(tank=gone).still().exists()
    today = LATER.date()
    assert not [
        p
        for p in UsePlan.objects.filter(tank=gone, voided_at=None)
        if not p.to_on or p.to_on > today
    ]
    assert (
        spec_page(label, LATER).state
        == spec_page(give_public_code(tank=into, by=house.owner, at=LATER).code, LATER).state
    )
    assert codes[0] in {row.code for row in fleet(house.showroom, AT)}, (
        "asked about this morning it stands"
    )


def test_parted_the_heads_sum_to_the_same_and_the_new_one_says_where_from(house: Fleet) -> None:
    tank = house.tanks[0]
    before = counted(house)
    head = heads(house.showroom, AT, tank_ids=[tank.pk])[0]
    made = part(
        by=house.owner, code=code_of(tank), wanted=a_part({head.batch_id: 1}), at=LATER,
        reason="A wall was glued in",
    )  # fmt: skip
    after = counted(house)
    assert (made.tank.came_from, made.layout, after["T91"]) == (tank, None, 1)
    assert after[code_of(tank)] == before[code_of(tank)] - 1
    assert sum(after.values()) == sum(before.values())
    moved = LivestockMovement.objects.get(tank_to=made.tank)
    assert (moved.kind, moved.count, moved.note) == ("move", 1, "A wall was glued in")
    assert Layout.objects.get(tank=tank).to_at is None


def test_a_part_that_went_is_not_answered_with_what_it_was_a_part_of(house: Fleet) -> None:
    tank = house.tanks[0]
    part(
        by=house.owner, code=code_of(tank), wanted=a_part({}), at=AT,
        reason="A wall was glued in",
    )  # fmt: skip
    put_on(
        tank=tank_by_code(house.showroom, "T91", AT).tank,
        kind="heater",
        name="Heater",
        figures={},
        by=house.owner,
        at=AT,
    )
    take_out(by=house.owner, code="T91", at=LATER, reason="It leaks")
    assert not Equipment.objects.filter(tank__codes__code="T91").still().exists()
    stood = tank_as_of(house.showroom, "T91", AT)
    assert stood is not None
    assert stood.tank.came_from == tank
    assert tank_as_of(house.showroom, "T91", LATER + timedelta(hours=1)) is None


def test_a_part_has_its_place_and_of_the_plans_what_was_ticked(house: Fleet) -> None:
    tank, client = house.tanks[0], signed_in(house.owner)
    here = Placement.objects.get(tank=tank).position
    free = add_position(
        room=here.room, zone=here.zone, name="place 91", walking_order=91, by=house.owner, at=AT
    )
    (head,) = heads(house.showroom, AT, tank_ids=[tank.pk])
    address = reverse("tank_apart", args=[code_of(tank)])
    typed = {
        "deed": "look", "code": "T91", "length": "30", "width": "30", "height": "36", "glass": "6",
        "kind": "low_iron", "place": str(free.pk), f"batch-{head.batch_id}": "3",
        "reason": "A wall was glued in",
    }  # fmt: skip
    taken = client.post(address, {**typed, "place": str(here.pk)})
    assert (taken.status_code, Tank.objects.count()) == (422, len(house.tanks))
    assert "This place is not free" in taken.content.decode()
    assert client.post(address, {**typed, "kind": "ice"}).status_code == 422
    looked = client.post(address, typed)
    rows = {one.plan.purpose: one for one, _ticked in looked.context["proposed"]}
    assert {key: (one.now.text(), one.scaled.text()) for key, one in rows.items()} == {
        "dose": ("3 mL", "1.5 mL"), "gas": ("6 g", "3 g"), "food": ("60 mg", "15 mg"),
    }  # fmt: skip
    ticks = [str(rows[key].plan.pk) for key in ("dose", "food")]
    done = client.post(address, {**typed, "deed": "part", "plan": ticks})
    assert done.headers["Location"] == reverse("tank_detail", args=["T91"])
    after = LATER + timedelta(hours=1)
    made = tank_by_code(house.showroom, "T91", after)
    assert (made.position, made.tank.kind_of_glass) == (free, "low_iron")
    today = planned_for_day(house.showroom, LATER.date(), tank_ids=[made.tank.pk]).values()
    assert {row.purpose: row.amount_base for row in today} == {"dose": 1500, "food": 15}
    fed = {key[1]: one.container_id for key, one in feeders(house.showroom, after).items()
           if key[0] == made.tank.pk}  # fmt: skip
    own = Supply.objects.get(tank=tank, purpose="dose").container_id
    assert fed == {"dose": own}
    mother = planned_for_day(house.showroom, LATER.date(), tank_ids=[tank.pk]).values()
    assert {row.purpose: row.amount_base for row in mother} == {
        "dose": 3000, "gas": 6000, "food": 60,
    }  # fmt: skip
    layout = begin_layout(tank=made.tank, title="The smaller bay", by=house.owner, at=after)
    stands = Layout.objects.get(tank=tank).plant_groups.all()
    assert {row.pk for row in groups_before(layout)} == {row.pk for row in stands}
    assert len(stands) == 2


def test_out_of_service_waits_for_the_animals_and_happens_once(house: Fleet) -> None:
    tank = house.tanks[0]
    with pytest.raises(Refused, match="still counted"):
        take_out(by=house.owner, code=code_of(tank), at=LATER, reason="Leaks")
    assert Tank.objects.get(pk=tank.pk).retired_at is None
    assert Layout.objects.get(tank=tank).to_at is None
    with pytest.raises(Refused, match="nothing was said"):
        join(by=house.owner, code=code_of(tank), into=code_of(house.tanks[1]), at=LATER, reason=" ")
    join(by=house.owner, code=code_of(tank), into=code_of(house.tanks[1]), at=LATER, reason="Old")
    with pytest.raises(Refused, match="out of service already"):
        take_out(by=house.owner, code=code_of(tank), at=LATER, reason="Again")


def test_the_page_says_what_would_happen_and_keeps_what_was_typed(house: Fleet) -> None:
    tank, client = house.tanks[0], signed_in(house.owner)
    address = reverse("tank_apart", args=[code_of(tank)])
    head = heads(house.showroom, AT, tank_ids=[tank.pk])[0]
    typed = {
        "deed": "part", "code": code_of(house.tanks[1]), "length": "45,5", "width": "30",
        "height": "30", "glass": "6", f"batch-{head.batch_id}": "1", "reason": "A wall",
    }  # fmt: skip
    for wrong, words in (
        ({}, "Another tank has this code"),
        ({"code": "T91", "length": "9000"}, "Length: 100 to 5,000 mm"),
        ({"code": "T91", "length": "long"}, "is no number"),
        ({"code": "T91", f"batch-{head.batch_id}": str(head.count + 1)}, "A whole number, 0 to"),
        ({"code": "T91", "reason": ""}, "nothing was said"),
        ({"deed": "join", "into": "T999"}, "stands nowhere"),
        ({"deed": "out"}, "still counted"),
    ):
        answer = client.post(address, {**typed, **wrong})
        said = answer.content.decode()
        assert answer.status_code == 422, wrong
        assert words in said.replace("&#x27;", "'"), (wrong, words)
        assert 'value="45,5"' in said or "length" in wrong
    assert Tank.objects.count() == len(house.tanks)
    done = client.post(address, {**typed, "code": "T91"})
    assert done.headers["Location"] == reverse("tank_detail", args=["T91"])
    assert (Tank.objects.get(codes__code="T91").length_mm) == 455
    carer = signed_in(a_member(house.owner, "carer"))
    assert carer.post(address, {**typed, "code": "T92"}).status_code == 403
