"""The stock page, one item and one container: words, deeds, refusals, labels."""

from __future__ import annotations

import re
import time
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.services.work import run_due
from gallery_ops.kernel.values.codes import printed
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Container, Movement
from inventory.queries.levels import balance_base
from inventory.services.containers import NewContainer, receive
from inventory.services.plans import PlanLine
from tests.builders.people import a_member
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.gallery_ops.web.squares import picture, read_back
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _that_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


def build() -> World:
    """A bottle with a press, a sealed can, a cylinder, and a week of doses."""
    world = a_world(days=7)
    carbon = world.item("carbon", "fertiliser", "volume", opened_life_days=180)
    gas = world.item("gas", "gas", "mass")
    world.supplier(carbon, Volume.l(5))
    world.bottle(carbon, content=Volume.ml(150))
    world.weigh(the(world, "bottle"), world.scale(), 150_000, moment(world.start, 7))
    receive(
        item=carbon,
        containers=[NewContainer("can", Volume.l(5), name="can")],
        by=world.by,
        at=world.begins,
        expires_on=date(2028, 1, 1),
    )
    world.cylinder(gas, world.tanks[0], serial="QG-1")
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"), tanks=world.tanks[:1])
    world.dose_days(carbon, world.days())
    run_due(at=NOW, showroom=world.showroom)
    return world


built, world = built_once(build)


def the(world: World, name: str) -> Container:
    found: Container = Container.objects.of(world.showroom).get(name=name)
    return found


@pytest.fixture
def owner(world: World) -> Client:
    return signed_in(world.by)


def page_of(client: Client, name: str, *args: str, query: str = "") -> str:
    answer = client.get(reverse(name, args=args) + query)
    assert answer.status_code == 200
    return str(answer.content.decode())


TERMS = [
    "Last measured", "Plan", "What we learned", "Changes ahead", "Skipped",
    "Chance to run out first", "Textbook reorder point", "On order", "How wrong we were",
]  # fmt: skip


def test_every_row_opens_to_nine_answers_in_the_same_order(owner: Client) -> None:
    html = page_of(owner, "stock_forecast")
    rows = re.findall(r'<article class="strip-item.*?</article>', html, re.DOTALL)
    assert len(rows) == 2
    for row in rows:
        assert re.findall(r"<dt>([^<]+)</dt>", row) == TERMS


@pytest.mark.parametrize(("weeks", "last"), [("4", "9 Apr"), ("8", "7 May"), ("26", "27 Aug")])
def test_the_axis_is_as_long_as_was_chosen(owner: Client, weeks: str, last: str) -> None:
    """The last date written on it, counted on a calendar from 12 March 2026."""
    html = page_of(owner, "stock_forecast", query=f"?weeks={weeks}")
    axis = html.split('class="strip-axis"')[1].split("</div>")[0]
    assert re.findall(r">(\d+ \w{3})</text>", axis)[-1] == last
    assert f"<b>{weeks} weeks</b>" in html


def test_an_axis_nobody_offers_is_the_usual_one(owner: Client) -> None:
    assert "<b>8 weeks</b>" in page_of(owner, "stock_forecast", query="?weeks=5000")


def test_the_table_says_the_same_as_the_strips(owner: Client) -> None:
    strips = page_of(owner, "stock_forecast")
    table = page_of(owner, "stock_forecast", query="?as=table")
    assert table.count("<tr>") == 3
    for said in re.findall(r'<div class="strip-do"><b>([^<]+)</b>', strips):
        assert said in table


def test_what_was_given_since_is_said_with_the_time_of_the_level(
    world: World, owner: Client
) -> None:
    assert "asking again" not in page_of(owner, "stock_forecast")
    world.dose_day(the(world, "bottle").item, TODAY)
    html = page_of(owner, "stock_forecast")
    assert html.count("As of 08:08, asking again") == 1


def test_names_lead_to_the_item_and_to_the_cylinder(world: World, owner: Client) -> None:
    html = page_of(owner, "stock_forecast")
    cylinder = the(world, "cylinder QG-1")
    assert f'href="{reverse("stock_item", args=["carbon"])}"' in html
    assert f'href="{reverse("container_detail", args=[cylinder.code])}"' in html


def test_an_item_says_which_to_open_next_and_that_its_density_is_assumed(owner: Client) -> None:
    html = page_of(owner, "stock_item", "carbon")
    following = html.split("Open this one next")[0].rsplit("strip-name", 1)[1]
    assert ">can</a>" in following
    assert html.count("Open this one next") == 1
    assert "1 g/mL" in html
    assert "assumed" in html
    assert "42 mL given on 7 days of four weeks; the plan asked for 42 mL." in html


def test_a_density_is_typed_with_a_comma_and_a_wrong_one_stays_in_its_field(
    world: World, owner: Client
) -> None:
    address = reverse("stock_item", args=["carbon"])
    wrong = owner.post(address, {"density": "10,5"})
    assert wrong.status_code == 422
    assert 'value="10,5"' in wrong.content.decode()
    assert "0.5 to 2.5 g/mL" in wrong.content.decode()
    assert owner.post(address, {"density": "thick"}).status_code == 422
    right = owner.post(address, {"density": "1,05"}, follow=True)
    assert "1.05 g/mL" in right.content.decode()
    assert "assumed" not in right.content.decode()
    carer = signed_in(a_member(world.by))
    assert 'name="density"' not in page_of(carer, "stock_item", "carbon")
    assert carer.post(address, {"density": "1.1"}).status_code == 403


def test_a_container_shows_expected_beside_found_and_the_sum_of_its_entries(
    world: World, owner: Client
) -> None:
    bottle = the(world, "bottle")
    html = page_of(owner, "container_detail", bottle.code)
    assert printed(bottle.code) in html
    entries = Movement.objects.filter(container=bottle).count()
    assert f"Sum of {entries} entries" in html
    assert "<b>108 mL</b>" in html
    assert reverse("stock_weigh", args=[bottle.code]) in html
    assert html.count(f'href="{reverse("container_count", args=[bottle.code])}"') == 1


def test_a_cylinder_has_its_strip_and_no_deed_of_a_bottle(world: World, owner: Client) -> None:
    code = the(world, "cylinder QG-1").code
    html = page_of(owner, "container_detail", code)
    assert "Gas of T001" in html
    assert 'value="decant"' not in html
    assert reverse("container_state", args=[code]) not in html
    answer = owner.post(reverse("container_detail", args=[code]), {"deed": "waste", "amount": "1"})
    assert answer.status_code == 422
    assert "A cylinder is not opened, poured or moved here." in answer.content.decode()


def do(client: Client, one: Container, follow: bool = False, **typed: str) -> str:
    address = reverse("container_detail", args=[one.code])
    answer = client.post(address, typed, follow=follow)
    assert answer.status_code == (200 if follow else 422), answer.content.decode()
    return str(answer.content.decode())


def test_a_can_is_opened_poured_spilled_and_moved_at_a_desk(world: World, owner: Client) -> None:
    can, bottle = the(world, "can"), the(world, "bottle")
    do(owner, can, follow=True, deed="open")
    can.refresh_from_db()
    assert can.opened_on == TODAY
    held = balance_base(bottle)
    do(owner, can, follow=True, deed="decant", into=bottle.code, amount="0,5 L")
    assert balance_base(bottle) == held + 500_000
    assert balance_base(can) == 4_500_000
    do(owner, can, follow=True, deed="waste", amount="20", reason="knocked over", kind="waste")
    assert balance_base(can) == 4_480_000
    room = str(world.room.uid)
    html = do(owner, can, follow=True, deed="move", room=room, place="shelf 2")
    assert "shelf 2" in html
    html = do(owner, can, follow=True, deed="change", name="big can", tare="250,5", unusable="20")
    can.refresh_from_db()
    assert (can.name, can.tare_mg, can.unusable_base) == ("big can", 250_500, 20_000)
    html = do(owner, can, follow=True, deed="finish", way="expiry", reason="cloudy")
    assert "Finished today" in html
    assert balance_base(can) == 0
    assert 'value="decant"' not in html


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"deed": ""}, "Nothing was chosen to be done."),
        ({"deed": "burn"}, "Nothing was chosen to be done."),
        ({"deed": "decant", "into": "", "amount": "5"}, "Into: no container was chosen."),
        ({"deed": "decant", "into": "ZZZZZZZZ", "amount": "5"}, "Into: no container was chosen."),
        ({"deed": "decant", "into": "can", "amount": ""}, "Amount"),
        ({"deed": "decant", "into": "can", "amount": "much"}, "&quot;much&quot; is not allowed"),
        ({"deed": "decant", "into": "can", "amount": "5 kg"}, "5 kg"),
        ({"deed": "decant", "into": "can", "amount": "-3"}, "Amount: -3 mL is not allowed."),
        ({"deed": "decant", "into": "can", "amount": "9 L"}, "9 L does not fit"),
        ({"deed": "waste", "amount": "5", "reason": ""}, "Reason: nothing was given."),
        ({"deed": "waste", "amount": "0", "reason": "x"}, "Amount: 0 mL is not allowed."),
        (
            {"deed": "waste", "amount": "5", "reason": "x", "kind": "theft"},
            "What happened: nothing was chosen.",
        ),
        ({"deed": "waste", "amount": "5", "reason": "x" * 201}, "201 characters are too many"),
        ({"deed": "finish"}, "Why it goes: nothing was chosen."),
        ({"deed": "finish", "way": "waste"}, "Reason: nothing was given."),
        ({"deed": "move", "room": "the moon"}, "Room: there is no such room here."),
        ({"deed": "move", "place": "p" * 81}, "81 characters are too many"),
        ({"deed": "change", "tare": "heavy"}, "&quot;heavy&quot; is not allowed"),
        ({"deed": "change", "tare": "0"}, "1 mg or more"),
        ({"deed": "change", "unusable": "2 L"}, "0 to 1 L"),
        ({"deed": "change", "press": "0.01"}, "50 µL or more"),
        ({"deed": "change", "press": "25"}, "0 to 20 mL"),
        ({"deed": "change", "name": "n" * 81}, "81 characters are too many"),
    ],
)
def test_what_cannot_be_is_refused_with_words_and_stays_typed(
    world: World, owner: Client, typed: dict[str, str], said: str
) -> None:
    bottle, before = the(world, "bottle"), Movement.objects.count()
    if typed.get("into") == "can":
        typed = {**typed, "into": the(world, "can").code}
    html = do(owner, bottle, **typed)
    assert said in html
    assert Movement.objects.count() == before
    for field in ("amount", "reason", "name", "tare", "unusable", "press", "place"):
        if typed.get(field) and typed["deed"]:
            assert f'value="{typed[field]}"' in html, field
    if typed["deed"] in {"decant", "waste", "finish", "move", "change"}:
        opened = html.split('<details class="deed" open>')[1].split("</details>")[0]
        assert f'value="{typed["deed"]}"' in opened
    for anchor in re.findall(r'<li><a href="#([^"]+)">', html.split('id="errors"')[1]):
        assert html.count(f' id="{anchor}"') == 1, anchor


def test_a_carer_records_and_does_not_put_right(world: World) -> None:
    carer, bottle = signed_in(a_member(world.by)), the(world, "bottle")
    html = page_of(carer, "container_detail", bottle.code)
    assert 'value="waste"' in html
    assert 'value="change"' not in html
    address = reverse("container_detail", args=[bottle.code])
    assert carer.post(address, {"deed": "change", "name": "mine"}).status_code == 403


def test_labels_are_read_back_by_another_decoder(world: World, owner: Client) -> None:
    """Decoder: zxing-cpp, which is not ours."""
    html = page_of(owner, "container_labels")
    assert html.count('class="vessel-label"') == 3
    squares = re.findall(r"<svg [^>]*mm\"[^>]*>.*?</svg>", html)
    found = {read_back(picture(square))[0] for square in squares}
    assert found == {
        f"http://testserver{reverse('container_detail', args=[one.code])}"
        for one in Container.objects.of(world.showroom)
    }


def test_labels_of_one_item_or_one_container(world: World, owner: Client) -> None:
    can = the(world, "can")
    assert page_of(owner, "container_labels", query="?item=carbon").count("vessel-square") == 2
    one = page_of(owner, "container_labels", query=f"?container={can.code[:4]} {can.code[4:]}")
    assert one.count("vessel-square") == 1
    assert "No container here is called" not in one
    none = page_of(owner, "container_labels", query="?container=QQQQQQQQ")
    assert "No container here is called QQQQQQQQ" in none
