"""Projections are held against what happened; what cannot be told says why."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import fmean, median

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.forecast.score import slot_of
from inventory.models import Container, Forecast, ForecastScore, Item, MovementKind
from inventory.queries.report_card import (
    Bead,
    CardLine,
    Redrawn,
    report_card,
)
from inventory.queries.report_every import scored_forecasts
from inventory.services.calibration import record_press_calibration
from inventory.services.containers import NewContainer, finish, receive
from inventory.services.decant import decant
from inventory.services.findings import answer_finding
from inventory.services.forecasts import refresh
from inventory.services.plans import PlanLine, stop_plans
from inventory.services.scores import score_due
from inventory.services.supplies import connect_supply
from inventory.services.use import use_dose
from tests.inventory.projections.world import NOW, TODAY, World, a_world, moment

pytestmark = pytest.mark.django_db
START = TODAY - timedelta(days=40)


def a_run(
    *, content_ml: int = 200, until: int = 30, weigh_every: int = 7, code: str = "undershore"
) -> tuple[World, Item, Container]:
    """6 mL a day from a bottle, projected each week; the rounds go on for ``until`` days."""
    world = a_world(days=40, tanks=2, code=code)
    carbon = world.item("carbon", "fertiliser", "volume", density_mg_per_ml=1000)
    bottle = world.bottle(carbon, content=Volume.ml(content_ml))
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    scale = world.scale()
    days = world.days()[:until]
    for n in range(0, until, weigh_every):
        week = days[n : n + weigh_every]
        world.dose_days(carbon, week)
        if len(week) == weigh_every:
            left_ml = content_ml - 6 * (n + weigh_every)
            world.weigh(bottle, scale, left_ml * 1_000, moment(week[-1], 18))
            refresh(showroom=world.showroom, at=moment(week[-1], 20))
    return world, carbon, bottle


def scores(world: World, container: Container | None = None) -> list[ForecastScore]:
    rows = ForecastScore.objects.of(world.showroom).select_related("forecast")
    return [
        one for one in rows.order_by("forecast__as_of_on") if one.forecast.container == container
    ]


def test_a_bottle_that_ran_out_scores_every_projection_of_it() -> None:
    world, _carbon, bottle = a_run(content_ml=200, until=34)
    end = world.start + timedelta(days=33)
    finish(container=bottle, by=world.by, at=moment(end, 19))
    done = score_due(showroom=world.showroom, at=NOW)
    found = scores(world, bottle)
    assert done.new >= len(found) == 4
    for one in found:
        assert one.truth == "ran_out"
        # 200 mL at 6 mL a day last 33 1/3 days; it was said on the evening of the 34th
        wanted = 33.33 - (one.forecast.as_of_on - world.start).days - 1
        assert wanted - 0.01 <= one.truth_days <= wanted + 0.68
        assert one.early_days == pytest.approx(one.truth_days - one.forecast.quantiles_days[9])
        assert one.crps_days is not None
        assert one.plan_crps_days is not None
        assert one.is_inside == (
            one.forecast.quantiles_days[1] <= one.truth_days <= one.forecast.quantiles_days[17]
        )
    again = score_due(showroom=world.showroom, at=NOW + timedelta(hours=1))
    assert (again.new, again.altered) == (0, 0)


def test_weighed_empty_is_a_truth_too_and_what_has_none_waits() -> None:
    world, _carbon, bottle = a_run(content_ml=200, until=30)
    assert score_due(showroom=world.showroom, at=moment(TODAY - timedelta(days=11), 12)).new == 0
    day = world.start + timedelta(days=31)
    world.weigh(bottle, world.scale(2), 0, moment(day, 18))
    score_due(showroom=world.showroom, at=NOW)
    (first, *_) = scores(world, bottle)
    assert first.truth == "ran_out"
    assert first.truth_on is not None
    assert day - timedelta(days=3) <= first.truth_on <= day + timedelta(days=1)


def test_a_refilled_bottle_is_scored_by_the_use_that_would_have_emptied_it() -> None:
    world, carbon, bottle = a_run(content_ml=120, until=14)
    (can,) = receive(
        item=carbon, containers=[NewContainer("can", Volume.l(1), tare=Mass.g(50))],
        by=world.by, at=world.begins,
    )  # fmt: skip
    turn = world.start + timedelta(days=14)
    decant(source=can, into=bottle, amount=Volume.ml(500), by=world.by, at=moment(turn, 6))
    scale, left = world.scale(2), 120 - 84 + 500
    days = world.days()[14:28]
    world.dose_days(carbon, days)
    world.weigh(bottle, scale, (left - 6 * 14) * 1_000, moment(days[-1], 18))
    score_due(showroom=world.showroom, at=NOW)
    found = scores(world, bottle)
    # as it stood after 7 days: 78 mL, 13 days; after 14 days: 36 mL, 6 days
    assert [one.truth_days for one in found[:2]] == pytest.approx([13, 6], abs=0.5)
    of_item = scores(world)
    # with the can beside it there were 1,078 mL: nobody knows yet when they end
    assert [one for one in of_item if one.truth == "ran_out"] == []


def test_still_left_after_the_whole_range_counts_as_outside_until_it_ends() -> None:
    world, carbon, bottle = a_run(content_ml=400, until=7)
    # from then on only one of two tanks is dosed, and nobody changed the plan
    scale, left = world.scale(2), 400 - 42
    for n in range(7, 40):
        day = world.start + timedelta(days=n)
        if n % 4 == 0:
            use_dose(tank=world.tanks[0], item=carbon, presses=3, by=world.by, at=moment(day, 9))
            left -= 3
    row = Forecast.objects.get(container=bottle)
    Forecast.objects.filter(pk=row.pk).update(quantiles_days=[q / 4 for q in row.quantiles_days])
    world.weigh(bottle, scale, left * 1_000, moment(TODAY - timedelta(days=1), 18))
    score_due(showroom=world.showroom, at=NOW)
    (one,) = scores(world, bottle)
    assert one.truth == "still_left"
    assert one.is_inside is False
    assert one.pit == pytest.approx(0.975)


@pytest.mark.parametrize("why", ["thrown_away", "spilled", "tank_emptied"])
def test_what_nobody_could_foresee_is_counted_and_not_scored(why: str) -> None:
    world, _carbon, bottle = a_run(content_ml=400, until=21)
    day = world.start + timedelta(days=22)
    if why == "thrown_away":
        finish(container=bottle, kind=MovementKind.WASTE, reason="old", by=world.by, at=moment(day))
    elif why == "spilled":
        answer_finding(
            container=bottle, what="spilled", from_on=day, last_on=None, by=world.by, at=moment(day)
        )
        world.weigh(bottle, world.scale(2), 0, moment(day, 18))
    else:
        stop_plans(tank=world.tanks[0], on=day, by=world.by, at=moment(day))
        world.weigh(bottle, world.scale(2), 0, moment(TODAY - timedelta(days=2), 18))
    score_due(showroom=world.showroom, at=NOW)
    found = scores(world, bottle)
    assert {(one.truth, one.why_not) for one in found} == {("not_scored", why)}
    card = report_card(world.showroom, NOW)
    (told,) = [one for one in card.not_scored if one.why == why]
    assert f"Carbon {bottle.code}" in told.of
    assert card.whole.whole.n == 0
    assert card.whole.whole.verdict == "too_few"


@pytest.mark.once
def test_a_tank_that_was_emptied_asks_as_often_for_many_projections_as_for_few() -> None:
    counts = []
    for code, more in (("one", 0), ("two", 1)):
        world, _carbon, bottle = a_run(content_ml=400, until=21, code=code)
        for n in range(more):
            refresh(showroom=world.showroom, at=moment(world.start + timedelta(days=21 + n), 20))
        day = world.start + timedelta(days=22)
        stop_plans(tank=world.tanks[0], on=day, by=world.by, at=moment(day))
        world.weigh(bottle, world.scale(2), 0, moment(TODAY - timedelta(days=2), 18))
        with CaptureQueriesContext(connection) as asked:
            score_due(showroom=world.showroom, at=NOW)
        found = scores(world, bottle)
        assert {one.why_not for one in found} == {"tank_emptied"}
        counts.append((len(asked), len(found)))
    assert counts[0][1] < counts[1][1]
    assert counts[0][0] == counts[1][0]


def test_the_report_card_counts_what_was_scored() -> None:
    world, _carbon, bottle = a_run(content_ml=200, until=34)
    finish(container=bottle, by=world.by, at=moment(world.start + timedelta(days=33), 19))
    score_due(showroom=world.showroom, at=NOW)
    card = report_card(world.showroom, NOW)
    every = scored_forecasts(world.showroom, NOW)
    assert card.whole.whole.n == len(every) == ForecastScore.objects.count()
    inside = card.whole.whole.inside
    assert inside is not None
    assert inside.inside == sum(bool(one.is_inside) for one in every)
    assert sum(card.whole.whole.slots) == len(every)
    (line,) = card.items
    assert line.name == "Carbon"
    assert line.beads
    assert card.kinds[0].key == "kind:fertiliser"
    assert card.whole.whole.plan_crps_days is not None


def test_the_card_counts_as_one_by_one() -> None:
    world, _carbon, bottle = a_run(content_ml=200, until=34)
    finish(container=bottle, by=world.by, at=moment(world.start + timedelta(days=33), 19))
    score_due(showroom=world.showroom, at=NOW)
    rows = list(ForecastScore.objects.of(world.showroom).exclude(truth="not_scored"))
    # places of the truth at every border of a slot and of a promise
    at = (0.0, 0.05, 0.1, 0.15, 0.25, 0.3, 0.5, 0.75, 0.85, 0.9, 0.95, 1.0)
    for start in range(0, len(at), len(rows)):
        pits = [at[(start + n) % len(at)] for n in range(len(rows))]
        for row, pit in zip(rows, pits, strict=True):
            row.pit = pit
            row.save()
        whole = report_card(world.showroom, NOW).whole.whole
        assert list(whole.slots) == [sum(slot_of(pit) == n for pit in pits) for n in range(10)]
        for kept in whole.kept:
            assert kept.inside == sum(abs(pit - 0.5) <= kept.promise / 2 + 1e-9 for pit in pits)
    early = [row.early_days for row in rows if row.early_days is not None]
    assert whole.early_days == pytest.approx(median(early), abs=0.051)
    assert whole.off_days == pytest.approx(median(abs(one) for one in early), abs=0.051)
    both = [row for row in rows if row.plan_crps_days is not None]
    assert whole.crps_days == pytest.approx(fmean(row.crps_days or 0 for row in both))
    assert whole.n == len(rows)


def test_what_was_done_about_an_item_is_told() -> None:
    world, _carbon, bottle = a_run(content_ml=200, until=34)
    record_press_calibration(
        container=bottle, presses=20, mass=Mass.g("19.4"), by=world.by,
        at=moment(world.start + timedelta(days=20), 9),
    )  # fmt: skip
    finish(container=bottle, by=world.by, at=moment(world.start + timedelta(days=33), 19))
    score_due(showroom=world.showroom, at=NOW)
    wanted = Wanted("C", "container", f"container:{bottle.pk}", "Why?", [{"what": "variance"}])
    sync_alerts(showroom=world.showroom, kind="variance", wanted={"x": wanted}, at=moment(TODAY, 5))
    (line,) = report_card(world.showroom, NOW).items
    assert [one.what for one in line.done] == ["why_asked", "pump_weighed"]
    assert line.done[1].who == world.by.person.name
    assert line.redrawn is None


def test_ranges_drawn_wider_are_told_from_six_stocks_on() -> None:
    def bead(n: int, width: float) -> Bead:
        on = START + timedelta(days=n)
        return Bead(n, "bottle", on, on, 0.0, -width / 2, width / 2, 10.0, is_inside=True)

    def redrawn(*widths: float) -> Redrawn | None:
        beads = tuple(bead(n, width) for n, width in enumerate(widths))
        return CardLine("item:1", "carbon", beads, None).redrawn  # type: ignore[arg-type]

    found = redrawn(2, 2, 2, 3, 3, 3)
    assert found is not None
    assert found.times == pytest.approx(1.5)
    assert found.since == START + timedelta(days=3)
    assert redrawn(2, 2, 2, 2.1, 2.1, 2.1) is None
    assert redrawn(2, 2, 3, 3, 3) is None


@pytest.mark.once
def test_queries_of_the_report_card_and_of_scoring_do_not_grow() -> None:
    counts = []
    for code, bottles in (("one", 1), ("two", 3)):
        world, carbon, bottle = a_run(content_ml=60, until=12, code=code)
        finish(container=bottle, by=world.by, at=moment(world.start + timedelta(days=12), 19))
        for n in range(1, bottles):
            (new,) = receive(
                item=carbon,
                containers=[NewContainer("bottle", Volume.ml(100), tare=Mass.g(9))],
                by=world.by,
                at=moment(world.start + timedelta(days=12 + n), 5),
            )
            connect_supply(
                container=new,
                purpose="dose",
                tank=world.tanks[n - 1],
                by=world.by,
                at=moment(world.start + timedelta(days=12 + n), 6),
            )
            refresh(showroom=world.showroom, at=moment(world.start + timedelta(days=12 + n), 20))
            finish(container=new, by=world.by, at=moment(world.start + timedelta(days=14 + n), 19))
        with CaptureQueriesContext(connection) as scoring:
            score_due(showroom=world.showroom, at=NOW)
        with CaptureQueriesContext(connection) as asking:
            report_card(world.showroom, NOW)
        counts.append((len(scoring), len(asking)))
    assert counts[0] == counts[1]


def test_another_showroom_has_no_share_in_it() -> None:
    world, _, bottle = a_run(content_ml=200, until=34)
    finish(container=bottle, by=world.by, at=moment(world.start + timedelta(days=33), 19))
    other = a_world(days=2, code="elsewhere")
    assert score_due(showroom=other.showroom, at=NOW).new == 0
    score_due(showroom=world.showroom, at=NOW)
    assert report_card(other.showroom, NOW).whole.whole.n == 0
    assert date(2026, 3, 12) == TODAY
