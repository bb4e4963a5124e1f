"""What the owner asks of the whole fleet: the wall on a day, fit for a camera, changed, costly."""

from __future__ import annotations

import time
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from tanks.models import MaterialLine, Parameter, Position, Reading, StageChange, Tank
from tanks.services.layouts import close_layout
from tanks.services.placements import move_tank, retire_tank
from tanks.services.versions import begin_version
from tests.builders.fleet import AT, Fleet, a_fleet
from tests.builders.people import a_member
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in

pytestmark = pytest.mark.django_db
built, fleet = built_once(lambda: a_fleet(3, with_work=False))


@pytest.fixture
def owner(fleet: Fleet, monkeypatch: pytest.MonkeyPatch) -> Client:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())
    return signed_in(fleet.owner)


def test_the_wall_of_a_day_says_what_stands_elsewhere_now_and_what_is_gone(
    fleet: Fleet, owner: Client
) -> None:
    first, second, _third = fleet.tanks
    room = Position.objects.earliest("pk")
    free = Position.objects.create(
        showroom=fleet.showroom,
        room=room.room,
        zone=room.zone,
        name="by the door",
        walking_order=99,
    )
    move_tank(tank=first, position=free, by=fleet.owner, at=AT - timedelta(hours=2))
    close_layout(layout=second.layouts.get(), by=fleet.owner, at=AT - timedelta(hours=2))
    retire_tank(tank=second, by=fleet.owner, at=AT - timedelta(hours=2))
    page = owner.get(reverse("tank_wall"), {"on": "2026-03-03"}).content.decode()
    assert "now in by the door" in page
    assert "not here any more" in page
    assert page.count('class="slot"') == 3
    assert f"{reverse('tank_then', args=['T0001'])}?on=2026-03-03" in page
    today = owner.get(reverse("tank_wall"), {"on": ""}).content.decode()
    assert today.count('class="slot"') == 2
    assert "now in by the door" not in today


def test_a_day_before_all_shows_none_and_a_bad_one_is_answered_in_words(owner: Client) -> None:
    before = owner.get(reverse("tank_wall"), {"on": "1999-01-01"}).content.decode()
    assert "No tank is written down for that day." in before
    assert "3 tanks came later" in before
    for text in ("2026-03-13", "3 March"):
        refused = owner.get(reverse("tank_wall"), {"on": text})
        assert refused.status_code == 422
        assert f'value="{text}"' in refused.content.decode()
        assert "A day up to today, such as 2026-03-03." in refused.content.decode()


def test_the_camera_list_names_what_stands_against_each_tank(owner: Client) -> None:
    page = owner.get(reverse("tank_camera")).content.decode()
    assert "No tank is ready for a camera today." in page
    assert page.count('class="row cam"') == 3
    assert page.count("Inside glass: not on record; at most 2.") == 3


def test_what_changed_is_told_tank_by_tank_and_an_old_habit_is_kept_apart(
    fleet: Fleet, owner: Client
) -> None:
    first, second, _third = fleet.tanks
    now = AT - timedelta(hours=1)
    ph, _made = Parameter.objects.get_or_create(key="ph", defaults={"name": "pH", "unit": "1"})
    Parameter.objects.filter(pk=ph.pk).update(step=0.1)
    for tank, newest in ((first, 5.9), (second, 6.6)):
        for days, value in ((29, 6.6), (22, 6.6), (15, 6.6), (8, 6.6), (0, newest)):
            Reading.objects.create(
                showroom=fleet.showroom, tank=tank, parameter=ph, value=value,
                text_as_typed=str(value), person=fleet.owner.person, method="meter",
                done_at=now - timedelta(days=days), entered_at=now,
                done_at_corrected=now - timedelta(days=days),
            )  # fmt: skip
    layout = second.layouts.get()
    begin_version(layout=layout, kind="minor", reason="carpet again", by=fleet.owner, at=now)
    page = owner.get(reverse("tank_changes")).content.decode()
    assert "No shift of yours is on record, so these are seven days." in page
    assert "5.9" in page
    assert "usually 6.6 here." in page
    assert page.count("usually 6.6 here.") == 1
    assert "carpet again" in page


def test_a_day_on_show_is_summed_and_what_has_no_price_is_named(
    fleet: Fleet, owner: Client
) -> None:
    layout = fleet.tanks[0].layouts.get()
    began = AT - timedelta(days=40)
    StageChange.objects.create(
        showroom=fleet.showroom, layout=layout, stage_to="show", person=fleet.owner.person,
        done_at=began, done_at_corrected=began, entered_at=began,
    )  # fmt: skip
    for order, part, count, cents in ((1, "wood", 2, 3_000), (2, "work", 60, 2_000)):
        MaterialLine.objects.create(
            showroom=fleet.showroom, layout=layout, order=order, part=part, what=part,
            said_count=count, unit_cents=cents,
        )  # fmt: skip
    page = owner.get(reverse("tank_cost")).content.decode()
    # 2 pieces at 30.00 and one hour at 20.00 over 40 days
    assert "A day on show costs £2.00" in page
    assert page.count("no list of materials") == 2
    carer = signed_in(a_member(fleet.owner, "carer"))
    assert carer.get(reverse("tank_cost")).status_code == 403


def test_one_more_tank_is_answered_line_by_line_and_nothing_is_written(owner: Client) -> None:
    address, before = reverse("add_tank_sheet"), Tank.objects.count()
    size = {"length": "60", "width": "30", "height": "36", "glass": "6"}
    page = owner.get(address, size).content.decode()
    assert "65 L outside, about 52 L of water" in page
    assert "Ask a structural engineer." in page
    assert "no build here has a list in which every line has a price" in page
    wrong = owner.get(address, {**size, "length": "6000", "width": "x", "height": ""})
    assert wrong.status_code == 422
    told = wrong.content.decode()
    for words in ("6000 cm is out of range. 10 to 400 cm.", "“x” is no number.", "Nothing was"):
        assert words in told
    assert 'value="6000"' in told
    assert owner.get(address, {**size, "room": "elsewhere", "co2": "yes"}).status_code == 422
    assert Tank.objects.count() == before
