"""What the projection found is told in words, and what a person found closes it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused
from gallery_ops.kernel.models import Alert, Membership, Person, Role
from gallery_ops.kernel.services.work import run_due
from gallery_ops.kernel.values.quantity import Volume
from inventory.models import Container, Forecast, StockFinding
from inventory.services import watching
from inventory.services.findings import answer_finding, take_back_finding
from inventory.services.forecasts import refresh
from inventory.services.plans import PlanLine
from tests.built_once import built_once
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db
SPILLED_ON = TODAY - timedelta(days=12)
SPILLED_UL = 150_000


def a_weighed_bottle(
    *, spilled: bool = False, press_ul: int = 1_000, code: str = "beside"
) -> tuple[World, Container]:
    """Sixty days of 9 mL a day, weighed each week; one litre at first."""
    world = a_world(days=60, tanks=3, code=code)
    carbon = world.item("carbon", "fertiliser", "volume", density_mg_per_ml=1000)
    bottle = world.bottle(carbon)
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    scale, left = world.scale(), 1_000_000.0
    days = world.days()
    for week in [days[:6], *(days[n : n + 7] for n in range(6, len(days), 7))]:
        world.dose_days(carbon, week)
        left -= 9 * press_ul * len(week)
        if spilled and SPILLED_ON in week:
            left -= SPILLED_UL
        if week[-1] != days[-1] or len(week) == 7:
            world.weigh(bottle, scale, left, moment(week[-1], 18))
    return world, bottle


built, spilled = built_once(lambda: a_weighed_bottle(spilled=True, code="undershore"))
Spilled = tuple[World, Container]


def looked_at(world: World, days: int = 0) -> dict[str, Alert]:
    at = NOW + timedelta(days=days, minutes=10 * StockFinding.objects.count())
    refresh(showroom=world.showroom, at=at)
    watching.review(showroom=world.showroom, at=at)
    return {alert.kind: alert for alert in Alert.objects.filter(closed_at=None)}


def test_a_spill_is_told_with_its_days_and_size_and_accuses_nobody(spilled: Spilled) -> None:
    world, _ = spilled
    alert = looked_at(world)["stock_finding"]
    (told,) = alert.because
    assert told["name"] == "sudden_loss"
    assert told["from"] <= SPILLED_ON.isoformat() <= told["to"]
    assert told["amount"]["lo"] <= SPILLED_UL <= told["amount"]["hi"]
    assert (date.fromisoformat(told["to"]) - date.fromisoformat(told["from"])).days <= 13
    assert "went at once" in alert.sentence
    assert alert.sentence.endswith("Weigh it again today.")
    assert len(told["readings"]) == 2
    lower = alert.sentence.lower()
    assert not [word for word in ("theft", "stole", "maud", "ellerkamp") if word in lower]


def test_where_nothing_went_wrong_nothing_is_told() -> None:
    world, _ = a_weighed_bottle()
    assert looked_at(world) == {}


def test_an_answer_closes_the_alert_and_is_taken_as_given(spilled: Spilled) -> None:
    world, bottle = spilled
    alert = looked_at(world)["stock_finding"]
    answer_finding(
        container=bottle,
        what="spilled",
        from_on=SPILLED_ON,
        last_on=SPILLED_ON,
        words="the cap was off",
        by=world.by,
        at=NOW + timedelta(minutes=1),
    )
    assert looked_at(world) == {}
    alert.refresh_from_db()
    assert alert.closed_at is not None
    row = Forecast.objects.get(container=bottle, is_current=True)
    assert row.alarm == "none"
    learned = next(one for one in row.because if one["what"] == "learned")
    # what was spilled does not teach the use factor
    assert learned["factor"] == pytest.approx(1.0, abs=0.03)


def test_an_answer_that_was_a_slip_opens_it_again(spilled: Spilled) -> None:
    world, bottle = spilled
    found = answer_finding(
        container=bottle, what="spilled", from_on=SPILLED_ON, last_on=None, by=world.by, at=NOW
    )
    assert "stock_finding" not in looked_at(world)
    back = take_back_finding(finding=found, by=world.by, at=NOW + timedelta(minutes=1))
    assert take_back_finding(finding=found, by=world.by, at=NOW).pk == back.pk
    assert "stock_finding" in looked_at(world)


def test_the_worker_closes_it_after_the_answer(spilled: Spilled) -> None:
    world, bottle = spilled
    run_due(at=NOW, showroom=world.showroom, kinds=["forecast"])
    run_due(at=NOW, showroom=world.showroom, kinds=["watch"])
    assert Alert.objects.filter(kind="stock_finding", closed_at=None).exists()
    answer_finding(
        container=bottle, what="spilled", from_on=SPILLED_ON, last_on=None, by=world.by, at=NOW
    )
    later = NOW + timedelta(minutes=2)
    run_due(at=later, showroom=world.showroom, kinds=["forecast"])
    run_due(at=later, showroom=world.showroom, kinds=["watch"])
    assert not Alert.objects.filter(kind="stock_finding", closed_at=None).exists()


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"what": "magic"}, "unknown_answer"),
        ({"from_on": TODAY + timedelta(days=1)}, "not_yet"),
        ({"last_on": SPILLED_ON - timedelta(days=1)}, "ends_before_it_begins"),
        ({"amount_base": -5}, "below_nothing"),
        ({"words": "x" * 301}, "too_long"),
    ],
)
def test_an_answer_that_cannot_be_is_refused_in_words(
    spilled: Spilled, changes: dict[str, object], code: str
) -> None:
    world, bottle = spilled
    said: dict[str, object] = {"what": "leak", "from_on": SPILLED_ON, "last_on": None}
    with pytest.raises(Refused) as no:
        answer_finding(container=bottle, by=world.by, at=NOW, **(said | changes))  # type: ignore[arg-type]
    assert no.value.code == code
    assert no.value.fields
    assert no.value.remedy
    assert not StockFinding.objects.exists()


def test_a_carer_may_not_answer(spilled: Spilled) -> None:
    world, bottle = spilled
    person = Person.objects.create_user("bram", "Bram Tolliver", "a-long-password-2")
    bram = Membership.objects.create(
        showroom=world.showroom, person=person, role=Role.CARER, from_at=world.begins
    )
    with pytest.raises(Forbidden):
        answer_finding(
            container=bottle, what="leak", from_on=SPILLED_ON, last_on=None, by=bram, at=NOW
        )


def test_a_pump_that_nobody_weighed_is_told_by_the_weighings_of_its_bottle() -> None:
    world, _ = a_weighed_bottle(press_ul=900)
    alert = looked_at(world)["press_off"]
    assert "weigh 20 presses" in alert.sentence
    (habit,) = alert.because
    assert habit["lo"] <= 0.9 <= habit["hi"]
    assert habit["hi"] - habit["lo"] < 0.08
