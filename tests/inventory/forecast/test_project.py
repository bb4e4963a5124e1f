"""What must hold for every projection, and what a plan ahead does to it."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.forecast.engine import project
from inventory.forecast.types import Calibration, Case, Event, Pool, Projection, Vessel
from tests.inventory.forecast.cases import AS_OF, DAYS, a_case, a_line, a_supplier, weighed

REASONS = [
    "last_measured", "plan", "learned", "changes_ahead", "skipped",
    "deliveries", "reorder_point", "on_order", "past_errors",
]  # fmt: skip


def only(case: Case | Pool) -> Projection:
    return project([case])[0]


@st.composite
def cases(draw: st.DrawFn) -> Case:
    dose = draw(st.floats(0.5, 12.0))
    ticks = "".join(draw(st.lists(st.sampled_from("ddddddsm2"), min_size=DAYS, max_size=DAYS)))
    first, last = draw(st.floats(300, 500)), draw(st.floats(40, 299))
    return a_case(
        plan=(a_line(per_day=dose),),
        ticks={"T01": ticks},
        observations=(weighed(first, 21), weighed(last, 2)),
    )


@settings(max_examples=60, deadline=None)
@given(cases())
def test_quantiles_never_fall_and_stay_within_the_horizon(case: Case) -> None:
    days = only(case).quantiles
    assert len(days) == 19
    assert all(a <= b for a, b in itertools.pairwise(days))
    assert days[0] >= 0
    assert days[-1] <= 400


@settings(max_examples=40, deadline=None)
@given(cases(), st.floats(1.0, 200.0))
def test_more_stock_never_runs_out_sooner(case: Case, more: float) -> None:
    fuller = replace(
        case,
        observations=tuple(replace(o, value=o.value + more) for o in case.observations),
        vessels=(Vessel("c1", 700.0, 5.0, 5.0),),
    )
    same_vessel = replace(case, vessels=fuller.vessels)
    pairs = zip(only(same_vessel).quantiles, only(fuller).quantiles, strict=True)
    assert all(less <= later + 1e-9 for less, later in pairs)


@settings(max_examples=20, deadline=None)
@given(st.lists(cases(), min_size=2, max_size=4))
def test_the_same_bits_in_any_order_and_company(several: list[Case]) -> None:
    named = [replace(case, case_id=f"k{n}") for n, case in enumerate(several)]
    forward, backward = project(named), project(named[::-1])[::-1]
    assert forward == backward
    assert forward == [only(case) for case in named]


def test_never_measured_rests_on_the_plan_and_is_wide() -> None:
    # A full bottle at 3 mL a day with an unknown factor: p10 -23 %, p90 +41 % of the middle,
    # by hand from 495/3 = 165 days and a factor of 1 +- 0.2163.
    case = a_case(observations=(weighed(500.0, 0, kind="full", sd=5.0, resolution=0.0),), ticks={})
    case = replace(case, history_from=AS_OF + timedelta(days=1), ticked=False)
    found = only(case)
    assert found.is_never_measured
    middle = found.quantile(0.5)
    assert middle == pytest.approx(165, abs=1.5)
    assert found.quantile(0.1) / middle - 1 == pytest.approx(-0.23, abs=0.02)
    assert found.quantile(0.9) / middle - 1 == pytest.approx(0.41, abs=0.03)


def test_a_pump_that_gives_less_is_learned_from_weighings() -> None:
    weighings = tuple(weighed(480 - 0.92 * 3 * (28 - ago), ago) for ago in (28, 21, 14, 7, 0))
    found = only(a_case(observations=weighings))
    assert found.factor == pytest.approx(0.92, abs=0.02)
    assert found.measured_n == 5
    assert found.level == pytest.approx(480 - 0.92 * 84 - 5, abs=3)


def test_pump_calibration_narrows_a_case_that_was_never_weighed() -> None:
    bare = a_case(observations=(weighed(500.0, 28, kind="full", sd=5.0),))
    told = replace(bare, calibration=(Calibration(AS_OF, 0.924, 0.01),))
    assert only(told).factor == pytest.approx(0.924, abs=0.01)
    assert only(told).quantile(0.9) - only(told).quantile(0.1) < 0.5 * (
        only(bare).quantile(0.9) - only(bare).quantile(0.1)
    )


def test_skipped_days_use_nothing() -> None:
    given, skipped = a_case(), a_case(ticks={"T01": "d" * 21 + "s" * 7})
    given = replace(given, observations=(weighed(421.0, 7),))
    skipped = replace(skipped, observations=given.observations)
    assert only(skipped).level - only(given).level == pytest.approx(21, abs=0.5)


def test_a_ramp_ahead_runs_out_sooner_and_an_emptied_tank_later() -> None:
    steady = only(a_case())
    ends, starts = AS_OF + timedelta(days=30), AS_OF + timedelta(days=30)
    ramp = only(a_case(plan=(a_line(end=ends), a_line(start=starts, per_day=6.0))))
    emptied = only(a_case(plan=(a_line(end=ends),)))
    assert ramp.quantile(0.5) < steady.quantile(0.5) - 30
    assert emptied.quantile(0.05) == 400.0
    assert emptied.order_by == 400


def test_holiday_and_weekday_pattern_are_in_the_plan_ahead() -> None:
    closed = (AS_OF + timedelta(days=10), AS_OF + timedelta(days=24))
    holiday = only(a_case(plan=(a_line(end=closed[0]), a_line(start=closed[1]))))
    tomorrow = AS_OF + timedelta(days=1)
    workdays = only(a_case(plan=(a_line(end=tomorrow), a_line(start=tomorrow, weekdays="1111100"))))
    steady = only(a_case())
    assert holiday.quantile(0.5) - steady.quantile(0.5) == pytest.approx(14, abs=0.1)
    assert workdays.quantile(0.5) > steady.quantile(0.5) * 1.3


def test_a_pool_counts_the_unopened_container_behind_the_open_one() -> None:
    two = a_case(vessels=(Vessel("c1", 500.0, 5.0, 5.0), Vessel("c2", 500.0, 5.0, 5.0)))
    assert only(two).level - only(a_case()).level == pytest.approx(495, abs=1)


def test_several_places_of_one_item_last_as_their_sum() -> None:
    bottles = (a_case(case_id="zone A"), a_case(case_id="zone B"))
    pool = Pool("item", bottles, reserve=5000.0, reserve_sd=50.0, supplier=a_supplier())
    found = only(pool)
    assert found.level == pytest.approx(5000 + sum(only(b).level for b in bottles))
    daily = 2 * 3.0 * (only(bottles[0]).factor or 0)
    assert found.quantile(0.5) <= 400
    less = only(replace(pool, reserve=400.0, reserve_sd=4.0))
    assert less.quantile(0.5) == pytest.approx(less.level / daily, rel=0.1)


def test_a_decant_out_and_a_receipt_move_the_level() -> None:
    taken = Event(AS_OF, "decant_out", -200.0, 10.0)
    got = Event(AS_OF, "receipt", 100.0, 1.0)
    base = replace(a_case(), observations=(weighed(484.0, 21),))
    assert only(base).level - only(replace(base, events=(taken,))).level == pytest.approx(200)
    assert only(replace(base, events=(got,))).level - only(base).level == pytest.approx(100)


def test_pieces_are_counted_exactly() -> None:
    washers = Case(
        case_id="w",
        kind="piece",
        unit="piece",
        as_of=AS_OF,
        history_from=AS_OF - timedelta(days=6),
        vessels=(Vessel("box", 40.0, 0.0),),
        plan=(a_line(per_day=0.5),),
        ticks={"T01": "d" * 7},
        observations=(weighed(12.0, 0, container=None, kind="count", sd=0.0, resolution=0.0),),
    )
    found = only(washers)
    assert found.level == pytest.approx(12)
    assert found.level_sd < 1e-3
    assert found.quantile(0.5) == pytest.approx(24, rel=0.1)


def test_without_a_known_delivery_no_order_day_is_invented() -> None:
    found = only(a_case(supplier=None))
    assert found.order_by is None
    assert found.deliveries == ()


def test_a_longer_closure_asks_for_an_earlier_order() -> None:
    open_all = only(a_case())
    assert open_all.order_by is not None
    out = AS_OF + timedelta(days=int(open_all.quantile(0.1)))
    closed = a_supplier(closures=((out - timedelta(days=30), out + timedelta(days=14)),))
    earlier = only(a_case(supplier=closed)).order_by
    assert earlier is not None
    assert earlier < open_all.order_by - 10


def test_what_hurts_animals_is_ordered_earlier() -> None:
    orders = [only(a_case(harm=harm)).order_by for harm in "ABC"]
    assert orders == sorted(orders)  # type: ignore[type-var]
    assert orders[0] != orders[2]


def test_no_plan_means_no_factor_and_no_run_out() -> None:
    found = only(a_case(plan=(), ticks={}))
    assert found.factor is None
    assert found.quantiles == (400.0,) * 19


def test_loss_beside_the_plan_raises_the_alarm_and_steady_use_does_not() -> None:
    # 3 mL a day planned; from the 15th day on 6 mL a day go
    ago = (28, 24, 20, 16, 12, 8, 4, 0)
    steady = tuple(weighed(480.0 - 3.0 * (28 - a), a) for a in ago)
    leaking = tuple(weighed(480.0 - 3.0 * (28 - a) - 4.0 * max(0, 16 - a), a) for a in ago)
    assert only(a_case(observations=steady)).alarm == "none"
    assert only(a_case(observations=leaking)).alarm != "none"


def test_reasons_come_in_fixed_order_and_fit_into_json() -> None:
    found = only(a_case(plan=(a_line(), a_line("T08", 2.0, start=date(2026, 3, 16)))))
    assert [reason["what"] for reason in found.because] == REASONS
    again = json.loads(json.dumps(found.because))
    by_key = {reason["what"]: reason for reason in again}
    assert by_key["last_measured"]["on"] == "2026-03-11"
    assert by_key["plan"]["per_day"]["unit"] == "mL"
    assert by_key["changes_ahead"]["changes"] == [
        {
            "line": "T08",
            "on": "2026-03-16",
            "was": {"amount": 0.0, "unit": "mL"},
            "becomes": {"amount": 2.0, "unit": "mL"},
        }
    ]
    assert len(by_key["deliveries"]["next"]) == 4
    assert by_key["reorder_point"]["review_days"] == 7


def test_days_of_rest_after_a_record_are_no_change_of_plan() -> None:
    tomorrow = AS_OF + timedelta(days=1)
    fed = a_case(plan=(a_line(end=tomorrow), a_line(start=tomorrow, weekdays="1111110")))
    more = a_case(plan=(a_line(end=tomorrow), a_line(start=tomorrow, per_day=4.0)))
    changes = [
        next(r["changes"] for r in only(case).because if r["what"] == "changes_ahead")
        for case in (fed, more)
    ]
    assert changes[0] == []
    assert len(changes[1]) == 1  # type: ignore[arg-type]


def test_deliveries_shown_are_those_that_an_order_of_today_reaches() -> None:
    # five days of lead time from Wednesday 11 March 2026: Tuesday 17th is the first van after that
    coming = only(a_case()).deliveries
    assert [(AS_OF + timedelta(days=d.day)).isoformat() for d in coming] == [
        "2026-03-17",
        "2026-03-20",
        "2026-03-24",
        "2026-03-27",
    ]


@pytest.mark.parametrize(
    "wrong",
    [
        {"observations": (weighed(400.0, 0, container="other"),)},
        {"ticks": {"T01": "d" * (DAYS + 1)}},
    ],
)
def test_a_case_that_contradicts_itself_is_named(wrong: dict[str, object]) -> None:
    with pytest.raises(ValueError, match="k1"):
        project([a_case(**wrong)])
