"""What is done at a desk: find a tank, write a note, weigh, take an alert on."""

from __future__ import annotations

import time
from urllib.parse import urlencode

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Alert
from inventory.models import Container, Scale, Weighing
from tests.builders.fleet import AT, Fleet, a_fleet
from tests.builders.stock import a_bottle, a_scale
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db


built, fleet = built_once(lambda: a_fleet(3, with_work=False))


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


@pytest.fixture
def owner(fleet: Fleet) -> Client:
    return signed_in(fleet.owner)


def test_one_hit_opens_the_tank_and_none_keeps_what_was_typed(owner: Client) -> None:
    found = owner.get(f"{reverse('tank_find')}?{urlencode({'q': 't0002'})}")
    assert found.headers["Location"] == reverse("tank_detail", args=["T0002"])
    nothing = owner.get(f"{reverse('tank_find')}?{urlencode({'q': 'Nowhere'})}")
    assert "No tank fits." in nothing.content.decode()
    assert 'value="Nowhere"' in nothing.content.decode()


def test_a_note_stands_on_the_tank_and_an_empty_one_is_refused(owner: Client) -> None:
    address = reverse("tank_note", args=["T0001"])
    answer = owner.post(address, {"text": "Snails on the front glass."}, follow=True)
    assert answer.content.decode().count("Snails on the front glass.") == 1
    assert owner.post(address, {"text": ""}).status_code == 422


def test_a_note_that_is_too_long_is_still_in_its_field(owner: Client) -> None:
    answer = owner.post(reverse("tank_note", args=["T0001"]), {"text": "moss " * 200})
    assert answer.status_code == 422
    assert "moss moss moss" in answer.content.decode()


def test_a_weighing_takes_a_comma_and_says_next_time_what_the_scale_showed(
    fleet: Fleet, owner: Client
) -> None:
    bottle, scale = _a_bottle_with_a_tare(fleet)
    address = reverse("stock_weigh", args=[bottle.code])
    answer = owner.post(address, {"gross": "431,5", "scale": scale.name})
    assert answer.status_code == 302
    assert Weighing.objects.get(container=bottle).gross_mg == 431_500
    assert "Last 431.5 g" in owner.get(address).content.decode()


@pytest.mark.parametrize("typed", ["", "heavy", "1.234,5", "12", "999999"])
def test_a_weighing_that_cannot_be_keeps_what_was_typed(
    fleet: Fleet, owner: Client, typed: str
) -> None:
    bottle, scale = _a_bottle_with_a_tare(fleet)
    answer = owner.post(
        reverse("stock_weigh", args=[bottle.code]), {"gross": typed, "scale": scale.name}
    )
    assert answer.status_code == 422
    assert f'value="{typed}"' in answer.content.decode()
    assert not Weighing.objects.filter(container=bottle).exists()


def test_somebody_has_an_alert_and_it_stays_open(fleet: Fleet, owner: Client) -> None:
    alert = Alert.objects.earliest("pk")
    page = owner.get(reverse("alert_detail", args=[alert.uid])).content.decode()
    assert "Nobody has it yet." in page
    answer = owner.post(reverse("alert_answer", args=[alert.uid]), follow=True)
    assert f"{fleet.owner.person.name} has it" in answer.content.decode()
    alert.refresh_from_db()
    assert alert.closed_at is None


def _a_bottle_with_a_tare(fleet: Fleet) -> tuple[Container, Scale]:
    item = Container.objects.earliest("pk").item
    item.density_mg_per_ml = 1050
    item.save(update_fields=["density_mg_per_ml"])
    return a_bottle(item, at=AT), a_scale(fleet.showroom, at=AT)


def test_a_tank_is_shown_as_it_was_on_a_day_and_a_day_to_come_is_refused(owner: Client) -> None:
    address = reverse("tank_then", args=["T0002"])
    today = owner.get(address, {"on": "2026-03-12"})
    assert "Another glass" not in today.content.decode()
    assert "Layout" in today.content.decode()
    before = owner.get(address, {"on": "1999-01-01"})
    assert "Nothing stood here on that day" in before.content.decode()
    for text in ("2026-03-13", "0001-01-01", "9999-12-31", "yesterday"):
        refused = owner.get(address, {"on": text})
        assert refused.status_code == 422, text
        assert f'value="{text}"' in refused.content.decode()
        assert "A day up to today, such as 2026-03-03." in refused.content.decode()
