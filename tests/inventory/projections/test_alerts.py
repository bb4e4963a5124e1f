"""What asks for a person: orders, gas, presses, age. Found when planted, quiet when not."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from gallery_ops.kernel.models import Alert
from gallery_ops.kernel.values.quantity import Mass, Volume
from gallery_ops.web.because import answers
from inventory.models import Container
from inventory.services import forecasts, reordering, watching
from inventory.services.calibration import record_press_calibration
from inventory.services.containers import change_container
from inventory.services.plans import PlanLine
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db


def reviewed(world: World) -> list[Alert]:
    forecasts.refresh(showroom=world.showroom, at=NOW)
    reordering.review(showroom=world.showroom, at=NOW)
    watching.review(showroom=world.showroom, at=NOW)
    return list(Alert.objects.of(world.showroom).filter(closed_at=None).order_by("cause_key"))


def low_stock(millilitres: int, code: str = "undershore") -> World:
    world = a_world(days=7, code=code)
    carbon = world.item("carbon", "fertiliser", "volume")
    world.supplier(carbon, Volume.l(5))
    world.bottle(carbon, content=Volume.ml(millilitres + 7 * 6))
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.dose_days(carbon, world.days())
    return world


def test_low_stock_asks_for_an_order_once_with_a_date_and_a_because() -> None:
    world = low_stock(90)  # 15 days at 6 mL, seven days of lead time, vans twice a week
    found = reviewed(world)
    again = reviewed(world)
    assert [alert.pk for alert in found] == [alert.pk for alert in again]
    (alert,) = found
    assert alert.kind == "reorder"
    assert alert.order_by_on is not None
    assert TODAY <= alert.order_by_on <= TODAY + timedelta(days=7)
    assert "90 mL" in alert.sentence
    keys = [reason["what"] for reason in alert.because]
    assert keys[0] == "runs_out"
    assert "deliveries" in keys
    assert "reorder_point" in keys


def test_enough_stock_asks_for_nothing() -> None:
    assert reviewed(low_stock(900)) == []


def test_the_alert_closes_when_a_delivery_came() -> None:
    world = low_stock(90)
    (alert,) = reviewed(world)
    world.stored(world_item(world), "can", Volume.l(5))
    assert reviewed(world) == []
    alert.refresh_from_db()
    assert alert.closed_at == NOW


def world_item(world: World):  # type: ignore[no-untyped-def]
    return Container.objects.of(world.showroom).get().item


def a_gas_line(loss_since: date | None, spare: bool = False) -> World:
    """60 days of a cylinder at 8 g a day, weighed weekly, since nine days every day or two."""
    world = a_world(days=60, tanks=1)
    gas = world.item("gas", "gas", "mass")
    world.supplier(gas, Mass.kg(2), name="Quayhead Gas", is_exchange=True, stated_lead_days=3)
    cylinder = world.cylinder(gas, world.tanks[0])
    if spare:
        world.cylinder(gas, None, serial="S2")
    world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
    scale, content = world.scale(noise_g=2), 2_000_000.0
    weighed = {TODAY - timedelta(days=n) for n in (58, 51, 44, 37, 30, 23, 16, 9, 8, 6, 5, 3, 1)}
    for day in world.days():
        lost = loss_since is not None and day >= loss_since
        content -= 11_200 if lost else 8_000
        if day in weighed:
            world.weigh(cylinder, scale, content, moment(day, 18))
    return world


def test_gas_that_goes_faster_than_its_own_median_is_found() -> None:
    (alert,) = reviewed(a_gas_line(loss_since=TODAY - timedelta(days=9)))
    assert alert.kind == "gas_use"
    assert alert.harm_class == "A"
    assert alert.sentence.startswith("The cylinder of T001 loses 11.")
    assert "never alone" in alert.sentence
    because = alert.because[0]
    assert because["name"] == "steady_loss"
    # it lost 3.2 g a day beside its 8, from nine days ago on
    rate = because["rate_per_day"]
    assert rate["lo"] <= 3_200 <= rate["hi"]
    assert because["from"] <= (TODAY - timedelta(days=9)).isoformat() <= because["to"]
    assert because["usual_base"] == pytest.approx(8_000, abs=250)
    assert len(because["readings"]) == 2


def test_where_nothing_was_projected_the_plain_rule_still_finds_it() -> None:
    world = a_gas_line(loss_since=TODAY - timedelta(days=9))
    watching.review(showroom=world.showroom, at=NOW)
    (alert,) = Alert.objects.filter(closed_at=None)
    assert alert.kind == "gas_use"
    assert "11.2 g a day" in alert.sentence
    because = alert.because[0]
    assert because["what"] == "gas_over_own_median"
    assert because["usual_g_per_day"] == pytest.approx(8, abs=0.2)
    assert because["tanks"] == ["T001"]


def test_the_same_line_without_the_loss_is_quiet() -> None:
    assert reviewed(a_gas_line(loss_since=None)) == []


def test_gas_alert_closes_when_use_is_as_it_was() -> None:
    world = a_gas_line(loss_since=TODAY - timedelta(days=9))
    (alert,) = reviewed(world)
    cylinder = Container.objects.get()
    later, scale = NOW, world.scale(noise_g=3)
    content = 2_000_000.0 - 60 * 8_000 - 9 * 3_200
    for week in range(1, 4):
        later = NOW + timedelta(days=7 * week)
        world.weigh(cylinder, scale, content - 56_000 * week, later)
    forecasts.refresh(showroom=world.showroom, at=later)
    watching.review(showroom=world.showroom, at=later)
    alert.refresh_from_db()
    assert alert.closed_at == later


def test_a_full_cylinder_in_the_store_covers_the_next_empty_one() -> None:
    for spare, wanted in ((False, 1), (True, 0)):
        world = a_world(days=10, tanks=1, code=f"gas-{int(spare)}")
        gas = world.item("gas", "gas", "mass")
        world.supplier(gas, Mass.g(500), name="Quayhead Gas", stated_lead_days=5)
        world.cylinder(gas, world.tanks[0], fill_g=200)
        if spare:
            world.cylinder(gas, None, fill_g=200, serial="S2")
        world.plan(gas, "gas", PlanLine(Mass.g(8), means="valve"))
        assert len(reviewed(world)) == wanted


def test_a_pump_at_0_924_with_an_unchanged_instruction_is_found() -> None:
    world = low_stock(900)
    bottle = Container.objects.get()
    on = TODAY - timedelta(days=2)
    record_press_calibration(
        container=bottle, presses=20, mass=Mass.g("18.48"), by=world.by, at=moment(on, 7)
    )
    (alert,) = reviewed(world)
    assert alert.kind == "press_off"
    assert alert.because[0]["measured_ul"] == 924
    assert "0.924 mL" in alert.sentence
    change_container(container=bottle, by=world.by, at=NOW, press_nominal_ul=924)
    assert reviewed(world) == []


def fed(grams: int, opened_days_ago: int, daily: str = "2.5", code: str = "undershore") -> World:
    world = a_world(days=opened_days_ago, code=code)
    food = world.item("granules", "food", "mass", opened_life_days=28)
    world.tub(food, grams, opened=world.start)
    world.plan(food, "food", PlanLine(Mass.g(daily), weekdays="1111110"))
    for day in world.days():
        if day.weekday() != 6:
            world.feed_day(food, day, daily)
    return world


def test_a_large_tub_opened_sixteen_days_ago_will_be_too_old() -> None:
    (alert,) = reviewed(fed(250, 16))
    assert alert.kind == "too_old"
    assert alert.because[0]["too_old_on"] == (TODAY + timedelta(days=12)).isoformat()
    assert alert.because[0]["wasted"]["amount"] > 100
    assert alert.because[0]["wasted"]["unit"] == "g"


def test_a_hundred_gram_tub_is_used_up_in_time() -> None:
    assert [alert.kind for alert in reviewed(fed(100, 10))] == []


def test_each_reason_of_these_alerts_has_its_words() -> None:
    alerts = [
        *reviewed(a_gas_line(loss_since=TODAY - timedelta(days=9))),
        *reviewed(fed(250, 16, code="fed")),
        *reviewed(low_stock(90, code="low")),
    ]
    assert {alert.kind for alert in alerts} == {"gas_use", "too_old", "reorder"}
    for alert in alerts:
        said = [f"{answer.term}: {answer.text}" for answer in answers(alert.because)]
        assert len(said) == len(alert.because)
        assert not [line for line in said if "_" in line or "{" in line], said


def test_alerts_of_one_showroom_are_not_those_of_another() -> None:
    world, other = low_stock(90), a_world(days=2, code="elsewhere")
    assert reviewed(world)
    assert reviewed(other) == []
