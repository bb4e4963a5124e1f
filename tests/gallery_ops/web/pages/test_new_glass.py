"""A tank gets new glass: what is given, due and kept goes on, and a past day keeps the old one."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.urls import reverse

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.overview.equipment_page import equipment_page
from gallery_ops.overview.new_glass import Glass, new_glass, reglaze
from inventory.models import FeederCalibration, Item, Supply, UsePlan
from inventory.queries.livestock import heads
from inventory.queries.plans import planned_for_day
from inventory.queries.supply import feeders
from inventory.services.feeder import record_feeder_calibration
from maintenance.models import Completion, DueTask, Stop
from maintenance.queries.subjects import tank_subjects
from maintenance.services import due_tasks
from tanks.models import Equipment, Layout, Tank
from tanks.queries.as_of import tank_as_of
from tanks.queries.glasses import glass_then
from tanks.queries.tanks import tank_by_code
from tanks.queries.visitors import next_brief
from tanks.services.equipment import look_after, put_on
from tanks.services.layouts import add_brief
from tanks.services.publishing import give_public_code
from tests.builders.fleet import AT, ON, Fleet, a_fleet
from tests.builders.people import a_member
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db

LATER = AT + timedelta(hours=1)
LARGER = Glass(600, 300, 540, 8, "low_iron")
"""Half as much water again."""
CODE = "T0001"


@pytest.fixture
def house(monkeypatch: pytest.MonkeyPatch) -> Fleet:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T09:08")
    return a_fleet(3)


def done(house: Fleet, scaled: tuple[int, ...] = ()) -> Tank:
    return reglaze(
        by=house.owner, code=CODE, wanted=LARGER, at=LATER, reason="A scratch",
        seen=str(house.tanks[0].pk), scaled=scaled,
    ).tank  # fmt: skip


def planned(house: Fleet, tank: Tank) -> dict[tuple[str, int], int]:
    rows = planned_for_day(house.showroom, ON + timedelta(days=1), tank_ids=[tank.pk]).values()
    return {(row.purpose, row.item_id): row.amount_base for row in rows}


def fed(house: Fleet, tank: Tank, when: datetime) -> dict[tuple[str, int], int]:
    found = feeders(house.showroom, when, [tank.pk])
    return {key[1:]: one.container_id for key, one in found.items()}


def tasks(tank: Tank) -> set[tuple[int, str, str]]:
    rows = DueTask.objects.filter(tank=tank, subject_key=f"tank:{tank.pk}")
    return set(rows.values_list("template_id", "occurrence_key", "state"))


def test_what_belongs_to_the_tank_goes_on_and_the_morning_keeps_the_old_glass(house: Fleet) -> None:
    old = house.tanks[0]
    label = give_public_code(tank=old, by=house.owner, at=AT)
    Equipment.objects.create(
        showroom=house.showroom, tank=old, kind="filter", name="canister", from_at=AT
    )
    heaters = [
        put_on(
            tank=old, kind="heater", name=f"heater {n}", figures={}, words={}, by=house.owner, at=AT
        )
        for n in (1, 2)
    ]
    for n, piece in enumerate(heaters, 1):
        look_after(equipment=piece, what="cleaned", text=f"lime {n}", by=house.owner, at=AT)
    food = Item.objects.of(house.showroom).get(kind="food")
    carer = a_member(house.owner, "carer")
    record_feeder_calibration(tank=old, item=food, portions=20, mass=Mass.g("1.2"), by=carer, at=AT)
    waits = add_brief(tank=old, title="A bank of ferns", by=house.owner, at=AT)
    used = add_brief(tank=old, title="What stands", by=house.owner, at=AT)
    Layout.objects.filter(tank=old).update(brief=used)
    plans, bottles, due = planned(house, old), fed(house, old, AT), tasks(old)
    animals = [(h.batch_id, h.count) for h in heads(house.showroom, LATER, tank_ids=[old.pk])]
    number = {s.tank_id: s.number for s in tank_subjects(house.showroom, AT)}[old.pk]
    title = tank_by_code(house.showroom, CODE, AT).title
    assert plans
    assert bottles
    assert due
    assert animals
    assert Stop.objects.filter(tank=old).exists()
    new = done(house)
    assert (planned(house, new), planned(house, old)) == (plans, {})
    assert fed(house, new, LATER) == bottles
    assert not Supply.objects.filter(tank=old).still().exists()
    assert [(h.batch_id, h.count) for h in heads(house.showroom, LATER, tank_ids=[new.pk])] == (
        animals
    )
    assert (tasks(new), tasks(old)) == (due, set())
    assert {s.tank_id: s.number for s in tank_subjects(house.showroom, LATER)}[new.pk] == number
    due_tasks.ensure(showroom=house.showroom, at=LATER)
    assert due <= tasks(new), "the beat drops none of them"
    assert Equipment.objects.get(tank=new, kind="filter").name == "canister"
    page = equipment_page(house.showroom, CODE, LATER)
    pieces = {one.serving.row.name: one.serving for one in page.pieces}
    told = {name: [service.text for service in one.services] for name, one in pieces.items()}
    assert told == {"canister": [], "heater 1": ["lime 1"], "heater 2": ["lime 2"]}
    assert all(one.row.tank == new for one in pieces.values())
    assert page.before == []
    weighed = FeederCalibration.objects.get(tank=new)
    assert (weighed.mg_per_portion, weighed.person) == (60, carer.person)
    assert (weighed.done_at_corrected, weighed.entered_at) == (AT, LATER)
    assert next_brief(new, LATER) == waits
    assert next_brief(old, LATER) == used
    label.refresh_from_db()
    assert (label.tank, label.to_at) == (new, None)
    assert not Stop.objects.filter(tank=old, round=house.opening).exists()
    now, then = (tank_as_of(house.showroom, CODE, when) for when in (LATER, AT))
    assert now is not None
    assert then is not None
    assert now.layout is not None
    assert then.layout is not None
    assert (now.tank, now.tank.kind_of_glass, now.layout.title) == (new, "low_iron", title)
    assert (then.tank, then.tank.height_mm, then.layout.title) == (old, 360, title)
    assert (glass_then(new, AT), glass_then(new, LATER)) == (old, new)
    assert Completion.objects.count() == 0


def test_dose_and_gas_follow_the_water_only_where_somebody_wants_it(house: Fleet) -> None:
    dose = next(key for key in planned(house, house.tanks[0]) if key[0] == "dose")
    before = planned(house, house.tanks[0])
    proposed = new_glass(house.showroom, CODE, LATER, LARGER).scaled
    gas = next(key for key in before if key[0] == "gas")
    found = {one.plan.item_id: (one.now.text(), one.scaled.text()) for one in proposed}
    assert found == {dose[1]: ("3 mL", "4.5 mL"), gas[1]: ("6 g", "9 g")}, "food is as it was"
    new = done(house, scaled=(dose[1], gas[1]))
    assert planned(house, new) == {**before, dose: 4500, gas: 9000}
    assert UsePlan.objects.filter(tank=new, purpose="dose").count() == 2
    with pytest.raises(Refused, match="another glass"):
        done(house)
    assert Tank.objects.count() == len(house.tanks) + 1


def test_the_page_shows_it_first_and_keeps_what_was_typed(house: Fleet) -> None:
    client, address = signed_in(house.owner), reverse("tank_new_glass", args=[CODE])
    change = client.get(reverse("tank_change", args=[CODE])).content.decode()
    assert address in change
    typed = {
        "deed": "replace", "seen": str(house.tanks[0].pk), "length": "60,5", "width": "30",
        "height": "54", "glass": "8", "kind": "low_iron", "reason": "A scratch",
    }  # fmt: skip
    for wrong, words in (
        ({"height": "900"}, "Height: 100 to 2,000 mm"),
        ({"height": "high"}, "is no number"),
        ({"height": ""}, "Height: 100"),
        ({"glass": "1"}, "Glass: 2 to 50 mm"),
        ({"kind": "ice"}, "choose one of the two"),
        ({"reason": " "}, "nothing was said"),
        ({"seen": "0"}, "another glass"),
    ):
        answer = client.post(address, {**typed, **wrong})
        assert answer.status_code == 422, wrong
        assert words in answer.content.decode(), (wrong, words)
        assert 'value="60,5"' in answer.content.decode()
    looked = client.post(address, {**typed, "deed": "look"})
    assert looked.status_code == 200
    assert "78.4" in looked.content.decode(), "60.5 x 30 x 54 cm, four fifths of it"
    assert Tank.objects.count() == len(house.tanks), "looking changes nothing"
    for role in ("carer", "senior_carer"):
        other = signed_in(a_member(house.owner, role))
        assert other.post(address, typed).status_code == 403
    answer = client.post(address, typed)
    assert answer.headers["Location"] == reverse("tank_detail", args=[CODE])
    assert Tank.objects.get(came_from=house.tanks[0]).length_mm == 605
    assert client.get(answer.headers["Location"]).status_code == 200
