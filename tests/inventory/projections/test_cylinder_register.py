"""Does the register say what goes a day by period, and who loses gas, and nothing of the others?"""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Alert
from gallery_ops.kernel.services.people import grant_skill
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.web.because import answers
from inventory.models import CylinderDetail
from inventory.queries.cylinder_register import cylinder_register, cylinder_row
from inventory.services import watching
from inventory.services.cylinder_care import mark_empty, stand_cylinder
from inventory.services.cylinder_steps import PUT_UP
from inventory.services.cylinders import NewCylinder, exchange
from inventory.services.findings import answer_finding
from inventory.services.plans import PlanLine, set_plan
from inventory.services.weighing import record_weighing
from tests.builders.gallery import AT, a_room, a_showroom, a_tank, an_owner
from tests.builders.stock import a_cylinder, a_gas, a_plan, a_scale

pytestmark = pytest.mark.django_db

BEGAN = AT - timedelta(days=100)


def a_line(showroom, uses_g, *, step_days=7, per_day=8, fill=Mass.kg(2), **cylinder):  # noqa: B008
    """A tank whose cylinder is weighed every few days, having used so many grams a day."""
    gas, tank = a_gas(showroom), a_tank(showroom=showroom)
    scale = a_scale(showroom)
    one = a_cylinder(gas, tank=tank, fill=fill, at=BEGAN, **cylinder)
    a_plan(tank, gas, Mass.g(per_day), purpose="gas", at=BEGAN)
    net, at = fill.mg, BEGAN
    weigh(one, scale, net, at)
    for use in uses_g:
        at += timedelta(days=step_days)
        net -= round(use * step_days * 1000)
        weigh(one, scale, net, at)
    return one, scale


def weigh(one, scale, net_mg, at):
    record_weighing(
        container=one,
        gross=Mass(net_mg + one.tare_mg),
        scale=scale,
        by=an_owner(one.showroom),
        at=at,
    )


def the_row(one):
    return cylinder_row(one.showroom, one.code, AT)


def test_a_use_that_creeps_up_is_seen_with_its_day_and_size():
    one, _scale = a_line(a_showroom(), [8.1, 7.9, 8.0, 8.2, 7.8, 8.0, 11.2, 11.2])
    row = the_row(one)
    assert row.line.is_over
    assert row.line.since == (BEGAN + timedelta(days=42)).date()
    assert row.line.g_per_day == pytest.approx(11.2, abs=0.01)
    assert row.line.usual_since == pytest.approx(8.0, abs=0.2)
    assert row.says[0] == "leak"
    assert [p.g_per_day for p in row.line.periods] == [
        pytest.approx(8.0, abs=0.05),
        pytest.approx(11.2, abs=0.01),
    ]


def test_a_little_more_at_each_weighing_raises_an_alert_with_how_often_it_is_wrong():
    creeping = [8.1, 7.9, 8.0, 8.2, 7.8, 8.0, 9.2, 9.2, 9.2, 9.2]
    one, _scale = a_line(a_showroom(), creeping)
    found = watching.review(showroom=one.showroom, at=AT)
    assert len(found["gas_use"].opened) == 1
    alert = Alert.objects.get()
    assert (alert.kind, alert.harm_class) == ("gas_use", "A")
    assert "uses a little more at each weighing" in alert.sentence
    assert "9.2 g a day, usually 8" in alert.sentence
    # 1.3 times its own median is not reached: only the sum tells it
    assert [reason["what"] for reason in alert.because] == ["gas_cusum"]
    (answer,) = answers(alert.because)
    # an upper sum with k = 0.5 and h = 4 while nothing is wrong: tests/outside/
    # forecast_cusum_arl.csv
    assert "about once per 335 weighings" in answer.text
    answer_finding(
        container=one, what="all_right", from_on=alert.opened_at.date(), last_on=None,
        by=an_owner(one.showroom), at=AT,
    )  # fmt: skip
    watching.review(showroom=one.showroom, at=AT + timedelta(minutes=1))
    alert.refresh_from_db()
    assert alert.closed_at is not None


def test_a_line_that_scatters_as_usual_raises_none():
    one, _scale = a_line(a_showroom(), [8.1, 7.9, 8.0, 8.2, 7.8, 8.0, 8.1, 8.2, 7.9, 8.1])
    watching.review(showroom=one.showroom, at=AT)
    assert not Alert.objects.exists()


@pytest.mark.parametrize(
    "uses",
    [
        [8.1, 7.9, 8.0, 8.2, 7.8, 8.0, 8.1, 8.0],
        [8.1, 7.9, 8.0, 8.2, 7.8, 8.0, 5.0, 4.0],
        [9.6, 9.5, 9.6, 9.7, 9.5, 9.6, 9.6, 9.5],
    ],
    ids=["as usual", "less than usual", "always a fifth above plan"],
)
def test_what_is_usual_for_it_is_not_said_to_leak(uses):
    one, _scale = a_line(a_showroom(), uses)
    row = the_row(one)
    assert row.line.run is not None
    assert not row.line.is_over
    assert "leak" not in row.says


def test_a_change_begins_the_sum_anew_and_a_leak_that_stays_is_seen_again():
    showroom = a_showroom()
    one, scale = a_line(showroom, [8.0, 8.1, 7.9, 8.0, 8.1, 11.5, 11.5])
    assert the_row(one).line.is_over
    gas = one.item
    spare = a_cylinder(gas, fill=Mass.kg(2), at=BEGAN)
    weigh(spare, scale, 2_000_000, BEGAN + timedelta(days=1))
    changed = BEGAN + timedelta(days=50)
    exchange(old=one, cylinder=spare, old_stays=True, by=an_owner(showroom), at=changed)
    weigh(spare, scale, 2_000_000, changed)
    row = the_row(spare)
    assert not row.line.is_over, "nothing was weighed since, and its days in the store are no use"
    assert "leak" not in row.says
    assert "leak" not in the_row(one).says
    for n in (1, 2):
        weigh(spare, scale, 2_000_000 - n * 7 * 11_500, changed + timedelta(days=7 * n))
    again = the_row(spare).line
    assert again.is_over
    assert again.since == changed.date()
    assert again.g_per_day == pytest.approx(11.5, abs=0.01)


def test_a_changed_plan_is_no_leak():
    showroom = a_showroom()
    one, scale = a_line(showroom, [8.0, 8.1, 7.9, 8.0])
    tank = the_row(one).fed[0].tank
    changed = BEGAN + timedelta(days=28)
    set_plan(
        tank=tank, item=one.item, purpose="gas", lines=[PlanLine(amount=Mass.g(12))],
        from_on=changed.date(), by=an_owner(showroom), at=changed,
    )  # fmt: skip
    net = 2_000_000 - 7 * (8_000 + 8_100 + 7_900 + 8_000)
    for n in range(1, 5):
        net -= 7 * 12_000
        weigh(one, scale, net, changed + timedelta(days=7 * n))
    assert not the_row(one).line.is_over


def test_too_few_weighings_make_no_usual():
    one, _scale = a_line(a_showroom(), [8.0, 30.0])
    row = the_row(one)
    assert row.line.run is None
    assert row.line.intervals == 2
    assert "leak" not in row.says


def test_the_history_of_a_line_goes_on_across_an_exchange():
    showroom = a_showroom()
    one, scale = a_line(showroom, [8.0, 8.1, 7.9, 8.0])
    at = BEGAN + timedelta(days=29)
    new = exchange(
        old=one,
        cylinder=NewCylinder(serial="NEW", tare=Mass.g(1400), fill=Mass.kg(2)),
        by=an_owner(showroom),
        at=at,
    )
    weigh(new, scale, 2_000_000, at)
    weigh(new, scale, 2_000_000 - 14 * 8_000, at + timedelta(days=14))
    row = the_row(new)
    assert [(p.serial, p.is_now) for p in row.line.periods] == [
        (one.cylinder.serial, False),
        ("NEW", True),
    ]
    assert row.line.intervals == 5
    with pytest.raises(Unknown):
        the_row(one)


@pytest.mark.parametrize(
    ("next_on", "state"),
    [
        (None, "unknown"),
        (AT.date(), "ran_out"),
        (AT.date() + timedelta(days=59), "before_next_fill"),
        (AT.date() + timedelta(days=900), "in_date"),
    ],
)
def test_how_the_next_test_stands(next_on, state):
    showroom = a_showroom()
    rule = "typed" if next_on else ""
    one = a_cylinder(
        a_gas(showroom), tank=a_tank(showroom=showroom), next_test_on=next_on, test_rule=rule
    )
    assert the_row(one).test == state


def test_a_full_one_in_store_is_a_spare_and_an_empty_or_begun_one_is_not():
    showroom = a_showroom()
    gas, by = a_gas(showroom), an_owner(showroom)
    full = a_cylinder(gas)
    begun = a_cylinder(gas, content=Mass.g(400))
    empty = a_cylinder(gas)
    mark_empty(container=empty, by=by, at=AT)
    old = a_cylinder(gas, next_test_on=date(2026, 1, 1), test_rule="typed")
    spares = {row.container for row in cylinder_register(showroom, AT) if row.is_spare}
    assert spares == {full}
    assert {begun, empty, old} & spares == set()


def test_a_manifold_draws_the_whole_plan_of_each_tank_and_its_shares_are_estimates():
    showroom = a_showroom()
    gas = a_gas(showroom)
    tanks = [a_tank(showroom=showroom) for _ in range(3)]
    for tank in tanks:
        a_plan(tank, gas, Mass.g(4), purpose="gas", at=BEGAN)
    one = a_cylinder(gas, fill=Mass.kg(2), at=BEGAN)
    grant_skill(
        membership=an_owner(showroom), skill="C3", by=an_owner(showroom),
        signed_off_on=BEGAN.date(), at=AT,
    )  # fmt: skip
    stand_cylinder(
        container=one, shares=dict(zip(tanks, (333, 333, 334), strict=True)), room=None, place="",
        held_by="chain", by=an_owner(showroom), at=BEGAN, bubbles=False,
        steps=dict.fromkeys(PUT_UP, BEGAN),
    )  # fmt: skip
    row = the_row(one)
    assert [fed.share_permille for fed in row.fed] == [333, 333, 334]
    spent = row.fill.mg - row.content.mg
    assert spent == pytest.approx(100 * 12_000, rel=0.02), "three tanks of 4 g, a hundred days"


def test_where_it_stands_is_its_tanks_room_else_the_one_that_was_noted():
    showroom = a_showroom()
    gas, store = a_gas(showroom), a_room(showroom, "Store")
    tank = a_tank(showroom=showroom)
    hangs = a_cylinder(gas, tank=tank)
    waits = a_cylinder(gas)
    stand_cylinder(
        container=waits, shares={}, room=store, place="cage", held_by="", by=an_owner(showroom),
        at=AT,
    )  # fmt: skip
    assert the_row(waits).room_id == store.pk
    assert the_row(hangs).room_id == tank.placements.get().position.room_id


def test_a_strangers_cylinder_is_unknown():
    one = a_cylinder(a_gas(a_showroom()))
    with pytest.raises(Unknown):
        cylinder_row(a_showroom(), one.code, AT)
    with pytest.raises(Unknown):
        cylinder_row(one.showroom, "nothing", AT)


@pytest.mark.once
def test_it_asks_as_often_for_twelve_as_for_two():
    counts = []
    for n in (2, 12):
        showroom = a_showroom()
        gas = a_gas(showroom)
        for _ in range(n):
            a_cylinder(gas, tank=a_tank(showroom=showroom))
        with CaptureQueriesContext(connection) as asked:
            rows = cylinder_register(showroom, AT)
        assert len(rows) == n == CylinderDetail.objects.filter(showroom=showroom).count()
        counts.append(len(asked))
    assert counts[0] == counts[1]
