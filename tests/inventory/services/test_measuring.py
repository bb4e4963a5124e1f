"""By eye, by gauge, by portion, by an empty one: kept, repeated without harm, taken back."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import EyeCount, Movement, Weighing
from inventory.queries.levels import balance_base
from inventory.services.decant import TO_THE_LINE, decant
from inventory.services.eye_counts import record_eye_count, take_back_eye_count
from inventory.services.feeder import record_feeder_calibration, take_back_feeder_calibration
from inventory.services.pressures import record_pressure, take_back_pressure
from inventory.services.retare import retare
from inventory.services.scales import check_scale
from inventory.services.weighing import record_weighing, take_back_weighing
from tests.builders.gallery import AT, a_person, a_showroom, a_tank
from tests.builders.stock import a_bottle, a_cylinder, a_fertiliser, a_food, a_gas, a_scale

pytestmark = pytest.mark.django_db


def test_an_eye_moves_no_stock_and_never_overrides_a_weighing_of_the_last_seven_days():
    # Quarters, worth an eighth of a full one, never above a weighing of the last 7 days: common
    # practice, no source.
    showroom = a_showroom()
    bottle, carer = a_bottle(a_fertiliser(showroom)), a_person(showroom=showroom)
    weighing = record_weighing(
        container=bottle, gross=Mass.g(431), scale=a_scale(showroom), by=carer, at=AT
    )
    said = {"container": bottle, "quarters": 2, "by": carer}
    young = record_eye_count(at=AT + timedelta(days=7) - timedelta(seconds=1), **said)
    assert (young.counts, young.net_base, young.expected_base) == (False, 250_000, 348_571)
    assert record_eye_count(at=AT + timedelta(days=7), **said).counts is True
    assert balance_base(bottle) == 348_571
    take_back_weighing(weighing=weighing, by=carer, at=AT + timedelta(minutes=1))
    assert record_eye_count(at=AT + timedelta(days=1), **said).counts is True


def test_the_same_action_is_one_look_and_one_taking_back():
    showroom = a_showroom()
    bottle, carer = a_bottle(a_fertiliser(showroom)), a_person(showroom=showroom)
    said = {"container": bottle, "quarters": 3, "by": carer, "at": AT, "action_id": uuid4()}
    row = record_eye_count(**said)
    assert record_eye_count(**said) == row
    back = take_back_eye_count(eye_count=row, by=carer, at=AT)
    assert take_back_eye_count(eye_count=row, by=carer, at=AT) == back
    assert list(EyeCount.objects.standing()) == []


def test_a_gauge_is_kept_and_is_no_level():
    showroom = a_showroom()
    cylinder, carer = a_cylinder(a_gas(showroom)), a_person(showroom=showroom)
    said = {
        "container": cylinder,
        "pressure_kpa": 5_730,
        "temperature_mdegc": 20_000,
        "by": carer,
        "at": AT,
        "action_id": uuid4(),
    }
    row = record_pressure(**said)
    assert record_pressure(**said) == row
    assert balance_base(cylinder) == 500_000
    assert Movement.objects.filter(container=cylinder).count() == 1
    take_back_pressure(pressure=row, by=carer, at=AT)
    assert not type(row).objects.standing().exists()


def test_twenty_portions_of_a_feeder_give_one_and_a_slip_lets_the_one_before_hold():
    # 20 portions of 1.2 g together are 60 mg each. Source: the division.
    showroom = a_showroom()
    tank, food, carer = a_tank(showroom=showroom), a_food(showroom), a_person(showroom=showroom)
    said = {"tank": tank, "item": food, "portions": 20, "by": carer, "action_id": uuid4()}
    row = record_feeder_calibration(mass=Mass.g("1.2"), at=AT, **said)
    assert row.mg_per_portion == 60
    assert record_feeder_calibration(mass=Mass.g("1.2"), at=AT, **said) == row
    slip = record_feeder_calibration(
        mass=Mass.g(12), at=AT + timedelta(hours=1), **{**said, "action_id": uuid4()}
    )
    take_back_feeder_calibration(feeder_calibration=slip, by=carer, at=AT + timedelta(hours=2))
    assert list(type(row).objects.standing()) == [row]


def test_a_bottle_filled_to_its_line_gets_what_was_missing_and_says_how_sure_that_is():
    showroom = a_showroom()
    item, carer = a_fertiliser(showroom), a_person(showroom=showroom)
    can = a_bottle(item, kind="can", capacity=Volume.l(5), tare=Mass.g(210))
    bottle = a_bottle(item, content=Volume.ml(120))
    out, came = decant(source=can, into=bottle, by=carer, at=AT)
    assert (out.amount_base, came.amount_base) == (-380_000, 380_000)
    assert balance_base(bottle) == 500_000
    assert out.reason.endswith(TO_THE_LINE)
    assert came.lot == can.lot


def test_an_empty_mass_is_put_right_from_now_on_and_only_by_who_may_correct():
    showroom = a_showroom()
    bottle, carer = a_bottle(a_fertiliser(showroom)), a_person(showroom=showroom)
    senior = a_person("senior_carer", showroom=showroom)
    scale = a_scale(showroom)
    before = record_weighing(container=bottle, gross=Mass.g(431), scale=scale, by=carer, at=AT)
    change = {"container": bottle, "tare": Mass.g(70), "reason": "weighed an empty one", "at": AT}
    with pytest.raises(Forbidden):
        retare(by=carer, **change)
    retare(by=senior, **change)
    bottle.refresh_from_db()
    after = record_weighing(
        container=bottle, gross=Mass.g(431), scale=scale, by=carer, at=AT + timedelta(hours=1)
    )
    assert (bottle.tare_mg, after.tare_mg) == (70_000, 70_000)
    assert Weighing.objects.get(pk=before.pk).tare_mg == 65_000
    assert AuditEntry.objects.filter(deed="container.retared").count() == 1


def test_the_regulator_of_a_cylinder_is_weighed_once_and_then_taken_off():
    showroom = a_showroom()
    cylinder = a_cylinder(a_gas(showroom))
    senior, scale = a_person("senior_carer", showroom=showroom), a_scale(showroom)
    weigh = {
        "container": cylinder,
        "gross": Mass.g(1980),
        "scale": scale,
        "regulator_on": True,
        "by": senior,
        "at": AT,
    }
    with pytest.raises(Refused, match="what the regulator"):
        record_weighing(**weigh)
    retare(container=cylinder, regulator=Mass.g(430), reason="on the bench scale", by=senior, at=AT)
    assert record_weighing(**weigh).net_base == 200_000


def test_a_scale_held_against_a_known_mass_says_when_and_by_how_much_it_was_off():
    showroom = a_showroom()
    scale = a_scale(showroom)
    check_scale(
        scale=scale,
        known=Mass.g(500),
        showed=Mass.g(498),
        by=a_person(showroom=showroom),
        at=AT,
    )
    scale.refresh_from_db()
    assert (str(scale.checked_on), scale.checked_off_mg) == ("2026-03-12", -2_000)
