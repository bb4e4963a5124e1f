"""The report card: what it promises and kept, also when it is bad, few, or nothing.

The band of luck against an outside table: critical values of the sign test, two tails, 0.05
(M. F. Triola, Elementary Statistics, appendix table A-7): reject at or below 1 of 10, 3 of 15,
5 of 20, 7 of 25.
"""

from __future__ import annotations

import re
import time
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from gallery_ops.kernel import clock
from inventory.forecast.score import luck_of, score
from inventory.models import Forecast, ForecastScore, Item
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.inventory.projections.world import NOW, TODAY, World, a_world

pytestmark = pytest.mark.django_db

QUANTILES = [10 + 20 * n / 20 for n in range(1, 20)]
"""Even from day 10 to day 30: p10 is 12, p90 is 28, the middle 20."""
PLAN_ALONE = [day + 12 for day in QUANTILES]


@pytest.fixture(autouse=True)
def _that_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


built, world = built_once(lambda: a_world(days=7))


def scored(world: World, item: Item, truths: list[float | None]) -> None:
    """One stock a truth [days after it was projected]; None could not be scored."""
    for n, truth in enumerate(truths):
        made_on = TODAY - timedelta(days=100 + n)
        container = world.bottle(item)
        forecast = Forecast.objects.create(
            showroom=world.showroom,
            item=item,
            container=container,
            as_of_on=made_on,
            made_at=NOW - timedelta(days=100 + n),
            engine="test",
            digest=str(n),
            level_base=500_000,
            quantiles_days=QUANTILES,
            plan_quantiles_days=PLAN_ALONE,
            earliest_on=made_on + timedelta(days=12),
            likely_on=made_on + timedelta(days=20),
            latest_on=made_on + timedelta(days=28),
            because=[],
            is_current=False,
        )
        fields: dict[str, object] = {"truth": "not_scored", "why_not": "spilled"}
        if truth is not None:
            own, plan = score(QUANTILES, truth), score(PLAN_ALONE, truth)
            fields = {
                "truth": "ran_out",
                "truth_on": made_on + timedelta(days=truth),
                "truth_days": truth,
                "pit": own.pit,
                "is_inside": own.is_inside,
                "early_days": own.early,
                "crps_days": own.crps,
                "plan_crps_days": plan.crps,
            }
        ForecastScore.objects.create(
            showroom=world.showroom, forecast=forecast, scored_at=NOW, **fields
        )


def words(world: World, query: str = "") -> str:
    answer = signed_in(world.by).get(reverse("forecast_report") + query)
    assert answer.status_code == 200
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", text)


@pytest.mark.once
@pytest.mark.parametrize(("tries", "rejected"), [(10, 1), (15, 3), (20, 5), (25, 7)])
def test_the_band_of_luck_is_that_of_the_sign_test(tries: int, rejected: int) -> None:
    lo, hi = luck_of(0.5, tries)
    assert (round(lo * tries), round(hi * tries)) == (rejected + 1, tries - rejected - 1)


def test_nothing_scored_promises_nothing(world: World) -> None:
    said = words(world)
    assert "No projection has met its truth yet." in said
    assert "We promised" not in said
    assert "of 100" not in said


def test_a_good_one_says_that_luck_explains_the_rest(world: World) -> None:
    item = world.item("carbon", "fertiliser", "volume")
    scored(world, item, [14, 15, 17, 18, 19, 20, 21, 22, 24, 27, 29, 31, 16, 23, 25])
    said = words(world)
    assert "We promised 8 in 10 and kept 8.7. Luck explains the difference." in said
    assert "13 of 15 kept. Luck explains it" in said
    assert "13 of 15 inside, middle 1 day later" in said
    assert "% closer than plan alone" in said


def test_a_bad_one_says_so(world: World) -> None:
    scored(world, world.item("carbon", "fertiliser", "volume"), [5.0] * 16 + [20.0] * 4)
    said = words(world)
    assert "We promised 8 in 10 and kept 2." in said
    assert "Luck does not explain it: ranges are too narrow." in said
    assert "Things run out sooner than our earliest day too often." in said
    assert "4 of 20 inside, middle 15 days sooner" in said
    assert "Its range is too narrow" in said


def test_a_few_are_not_judged(world: World) -> None:
    scored(world, world.item("carbon", "fertiliser", "volume"), [20.0, 21.0, 5.0, 22.0])
    said = words(world)
    assert "Too few to judge." in said
    assert "4 projections have met their truth. Too few to judge; its strip says so." in said
    assert "Judged from ten on" in said


def test_what_could_not_be_scored_is_counted_and_named(world: World) -> None:
    item = world.item("carbon", "fertiliser", "volume")
    scored(world, item, [20.0, None, None])
    codes = ForecastScore.objects.filter(truth="not_scored").order_by("forecast__container")
    names = ", ".join(f"Carbon {one.forecast.container.code}" for one in codes)
    assert f"2 could not be scored: 2 spilled ({names})." in words(world)
    listed = words(world, "?as=every")
    assert listed.count("not scored: spilled") == 2


def test_the_table_and_the_list_hold_the_same_figures(world: World) -> None:
    scored(world, world.item("carbon", "fertiliser", "volume"), [20.0] * 11 + [40.0])
    table = words(world, "?as=table")
    assert "All 12 12 11 / 12" in table
    assert "Carbon 12 12 11 / 12" in table
    listed = words(world, "?as=every")
    assert listed.count("ran out") == 12
    assert listed.count(" yes ") == 11


def test_a_long_list_comes_by_page_and_an_odd_page_number_gives_one(world: World) -> None:
    scored(world, world.item("carbon", "fertiliser", "volume"), [20.0] * 51)
    assert words(world, "?as=every").count("ran out") == 50
    assert words(world, "?as=every&page=2").count("ran out") == 1
    assert words(world, "?as=every&page=%F0").count("ran out") == 50
    assert "We promised" in words(world, "?as=nonsense")


def test_another_gallery_sees_none_of_it(world: World, client: Client) -> None:
    scored(world, world.item("carbon", "fertiliser", "volume"), [20.0] * 12)
    other = a_world(days=7, code="elsewhere")
    assert "No projection has met its truth yet." in words(other)
