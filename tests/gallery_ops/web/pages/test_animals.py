"""Can somebody at a desk say that animals came, went or were counted, and is a slip kept out?"""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import LivestockBatch, LivestockMovement
from inventory.queries.livestock import heads
from tanks.models import Layout, Species
from tests.builders.fleet import Fleet, a_fleet
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def house(monkeypatch: pytest.MonkeyPatch) -> Fleet:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T09:08")
    return a_fleet(3, with_work=False)


def test_came_went_and_counted_by_hand(house: Fleet) -> None:
    tank, other = house.tanks[0], house.tanks[1]
    codes = [one.codes.get().code for one in (tank, other)]
    client, address = signed_in(house.owner), reverse("tank_animals", args=[codes[0]])
    before = sum(head.count for head in heads(house.showroom, tank_ids=[tank.pk]))

    def send(**typed: object) -> str:
        answer = client.post(address, {"csrfmiddlewaretoken": "x", **typed}, follow=True)
        return answer.content.decode()

    page = send(deed="came", seen=before, count="x", scientific="Otocinclus vittatus")
    assert "is no number" in page
    assert 'value="Otocinclus vittatus"' in page
    page = send(deed="came", seen=before, count=6, scientific="oto cat")
    assert "is no scientific name" in page
    page = send(deed="came", seen=before, count=6, scientific="Otocinclus vittatus", common="oto")
    assert "6 animals, oto, arrived" in page
    page = send(
        deed="came", seen=before, count=6, species=Species.objects.get(vernacular_name="oto").pk
    )
    assert "somebody else wrote" in page, "a second press counts nothing"
    batch = LivestockBatch.objects.get(species__vernacular_name="oto")
    page = send(deed="went", seen=before + 6, count=2, batch=batch.uid, how="across", into=codes[1])
    assert "2 animals, oto, moved" in page
    page = send(deed="went", seen=before + 4, count=9, batch=batch.uid, how="sold")
    assert LivestockMovement.objects.filter(kind="sold").count() == 0
    assert 'class="errs"' in page
    page = send(deed="went", seen=before + 4, count=3, batch=batch.uid, how="again")
    assert "Counted again: 3 oto" in page
    assert {
        head.tank_id: head.count for head in heads(house.showroom) if head.batch_id == batch.pk
    } == {
        tank.pk: 3,
        other.pk: 2,
    }


def test_before_the_gate_the_page_shows_its_proofs_and_no_form(house: Fleet) -> None:
    tank = house.tanks[0]
    Layout.objects.filter(tank=tank).update(stage="start_up")
    client = signed_in(house.owner)
    page = client.get(reverse("tank_animals", args=[tank.codes.get().code])).content.decode()
    assert "G6. First animals" in page
    assert "They are in" not in page
    assert reverse("tank_gates", args=[tank.codes.get().code]) in page


def test_it_is_no_page_for_strangers(house: Fleet) -> None:
    address = reverse("tank_animals", args=[house.tanks[0].codes.get().code])
    assert Client().get(address).status_code == 302
