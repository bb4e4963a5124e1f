"""What if: dates move, the change is said first, and no row of any table changes."""

from __future__ import annotations

import hashlib
import re
import time
from datetime import date
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
from django.apps import apps
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.values.quantity import Mass
from inventory.services import forecasts
from inventory.services.plans import PlanLine
from tanks.models import Room
from tanks.services.rooms import measure_room
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.inventory.orders.test_buy_list import stocked
from tests.inventory.projections.world import NOW, World, a_world

pytestmark = pytest.mark.django_db

ALL = {
    "closed_from": "2026-04-03",
    "closed_to": "2026-04-13",
    "size": "600x300x360",
    "from_on": "2026-03-23",
    "full": "yes",
    "feeders": "no",
    "dose_percent": "+10 %",
}


@pytest.fixture(autouse=True)
def _that_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


def build() -> World:
    """Two tanks with a liquid, food and gas."""
    world = a_world(days=7)
    stocked(world, "carbon", days=30)
    food = world.item("granules", "food", "mass", harm_class="A")
    world.supplier(food, Mass.g(100))
    world.tub(food, 100, opened=date(2026, 3, 5))
    world.plan(food, "food", PlanLine(Mass.g("0.5")))
    gas = world.item("gas", "gas", "mass")
    for n, tank in enumerate(world.tanks):
        world.cylinder(gas, tank, serial=f"S{n}")
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    forecasts.refresh(showroom=world.showroom, at=NOW)
    return world


built, world = built_once(build)


def ask(world: World, **choices: str) -> Any:
    return signed_in(world.by).get(reverse("forecast_whatif"), choices)


def text_of(answer: Any) -> str:
    return unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())))


def everything() -> dict[str, str]:
    """A digest of every row of every table, sessions aside."""
    out = {}
    for model in apps.get_models():
        if model._meta.proxy or model._meta.label == "sessions.Session":
            continue
        rows = sorted(repr(row) for row in model._base_manager.values_list())
        out[model._meta.label] = hashlib.sha256("\n".join(rows).encode()).hexdigest()
    return out


def test_nothing_is_saved_whatever_is_asked(world: World) -> None:
    client = signed_in(world.by)
    before = everything()
    assert len(before) > 50
    for choices in ({}, ALL, {"dose_percent": "-50"}, {"dose_percent": "x"}):
        client.get(reverse("forecast_whatif"), choices)
    assert everything() == before


def test_there_is_no_button_that_could_save(world: World) -> None:
    html = ask(world, **ALL).content.decode()
    main = html[html.index("<main") : html.index("</main>")]
    assert 'method="post"' not in main
    assert "Nothing is saved." in main
    assert signed_in(world.by).post(reverse("forecast_whatif"), ALL).status_code == 405


def test_without_a_choice_nothing_moves(world: World) -> None:
    said = text_of(ask(world))
    assert "Nothing is changed yet." in said
    assert "sooner" not in said
    assert said.count("as it was") >= 3


def test_more_of_every_dose_comes_sooner_and_gas_and_food_stay(world: World) -> None:
    said = text_of(ask(world, dose_percent="25"))
    assert re.search(r"Then carbon (must be ordered|runs out) \w+ days? sooner", said)
    assert re.search(r"Carbon .* \d+ days sooner", said)
    # 25 % more of 6 mL a day over eight weeks: 84 mL
    assert "84 mL more in eight weeks." in said
    assert said.count("None of these choices touches it.") == 2


def test_closed_days_make_a_liquid_last_and_feeders_go_on(world: World) -> None:
    fed = text_of(ask(world, closed_from="2026-03-16", closed_to="2026-03-26"))
    assert re.search(r"Carbon .* \d+ days later", fed)
    # ten days without 6 mL
    assert "60 mL less in eight weeks." in fed
    assert "Feeders give the food" in fed
    unfed = text_of(ask(world, closed_from="2026-03-16", closed_to="2026-03-26", feeders="no"))
    assert "10 g less in eight weeks." in unfed


def test_one_more_tank_takes_its_part(world: World) -> None:
    said = text_of(ask(world, size="600x300x360", from_on="2026-03-13", full="yes"))
    # as the two of its size: 3 mL a day more from tomorrow, 55 or 56 days
    assert re.search(r"16[5-8] mL more in eight weeks\.", said)
    assert "Gas that it would use is not in it." in said


def test_labour_and_the_air_of_a_room_are_said_too(world: World) -> None:
    room = Room.objects.of(world.showroom).get()
    as_it_is = text_of(ask(world))
    assert "Labour, week 12, from 16 Mar" in as_it_is
    assert "No room has a number yet." in as_it_is
    measure_room(
        room=room, volume_m3=Decimal(148), measured_by="Iskra Vann",
        measured_on=date(2026, 1, 5), has_gas_alarm=True, by=world.by, at=NOW,
    )  # fmt: skip
    quiet = text_of(ask(world))
    assert f"Room, {room.name} stays at" in quiet
    assert "None of these choices brings a cylinder." in quiet
    asked = {"size": "1800x600x600", "from_on": "2026-03-16", "room": str(room.uid)}
    client = signed_in(world.by)
    before = everything()
    said = text_of(client.get(reverse("forecast_whatif"), asked))
    assert everything() == before
    assert "as the tank here that is nearest in size" in said
    assert "A competent person decides." in said


def test_the_choices_stay_in_the_form(world: World) -> None:
    html = ask(world, **ALL).content.decode()
    for field in ("closed_from", "closed_to", "from_on"):
        assert f'name="{field}" value="{ALL[field]}"' in html
    assert '<option value="600x300x360" selected>60 × 30 × 36 cm</option>' in html
    assert 'name="full" value="yes" checked' in html
    assert 'name="feeders" value="no" checked' in html


@pytest.mark.parametrize(
    ("choices", "field", "word"),
    [
        ({"dose_percent": "ten"}, "dose_percent", "no whole number"),
        ({"dose_percent": "301"}, "dose_percent", "not allowed"),
        ({"dose_percent": "-91"}, "dose_percent", "not allowed"),
        ({"closed_from": "3 April", "closed_to": "2026-04-13"}, "closed_from", "is no day"),
        ({"closed_from": "2026-04-03"}, "closed_to", "not allowed"),
        ({"closed_to": "2026-04-03"}, "closed_from", "not allowed"),
        ({"closed_from": "2026-04-13", "closed_to": "2026-04-03"}, "closed_to", "not allowed"),
        ({"closed_from": "2026-04-03", "closed_to": "2027-04-03"}, "closed_to", "not allowed"),
        ({"size": "large", "from_on": "2026-04-03"}, "size", "is no size"),
        ({"size": "1x1x1", "from_on": "2026-04-03"}, "size", "not allowed"),
        ({"size": "9999999x1x1", "from_on": "2026-04-03"}, "size", "is no size"),
        ({"room": "nowhere"}, "room", "no such room"),
        ({"size": "600x300x360"}, "from_on", "from which day"),
        ({"size": "600x300x360", "from_on": "2026-03-01"}, "from_on", "not allowed"),
        ({"size": "600x300x360", "from_on": "9999-12-31"}, "from_on", "not allowed"),
    ],
)
def test_a_choice_out_of_range_is_named_and_stays(
    world: World, choices: dict[str, str], field: str, word: str
) -> None:
    answer = ask(world, **choices)
    assert answer.status_code == 422
    html = answer.content.decode()
    assert f'href="#{field}"' in html
    assert f'id="{field}"' in html
    assert word in text_of(answer)
    typed = choices.get(field, "")
    if typed and field not in {"size", "room"}:
        assert f'value="{typed}"' in html


def test_a_gallery_without_stock_has_a_sentence(world: World) -> None:
    other = a_world(days=7, code="elsewhere")
    assert "No projection stands yet" in text_of(ask(other))
