"""What a person is told when something is wrong, and what an answer to it changes.

The mishaps are planted, so that days and sizes are known by hand; no outside source.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from inventory.forecast.engine import project
from inventory.forecast.types import Answer, Case, Event, Finding, Options, Pool, Projection
from tests.inventory.forecast.cases import AS_OF, a_case, weighed
from tests.inventory.forecast.test_bank import LEAK, SPILL, a_bottle, moved


def only(case: Case | Pool, options: Options | None = None) -> Projection:
    return project([case], options)[0] if options else project([case])[0]


def finding(case: Case) -> Finding:
    found = only(case).finding
    assert found is not None
    return found


def ago(days: int) -> date:
    return AS_OF - timedelta(days=days)


def test_a_healthy_stock_has_nothing_to_tell() -> None:
    assert only(a_bottle()).findings == ()
    assert only(a_bottle()).finding is None


def test_a_spill_is_told_with_its_days_and_its_size() -> None:
    # 120 mL are missing from the weighing 21 days ago on; the one before was 28 days ago
    found = finding(moved(SPILL))
    assert found.name == "sudden_loss"
    assert found.weight > 0.8
    assert (found.from_day, found.to_day) == (ago(27), ago(21))
    assert found.within > 0.95
    assert found.amount.lo < 120_000 < found.amount.hi
    assert found.amount.hi - found.amount.lo < 25_000
    assert found.rate_per_day is None


def test_a_leak_is_told_with_its_beginning_rate_and_sum() -> None:
    # 14 mL more than planned go in each of the last five weeks: 2 a day, 70 in all
    found = finding(moved(LEAK))
    assert found.name == "steady_loss"
    assert found.from_day <= ago(34) <= found.to_day
    assert (found.to_day - found.from_day).days < 21
    assert found.rate_per_day is not None
    assert found.rate_per_day.lo < 2_000 < found.rate_per_day.hi
    assert found.amount.lo < 70_000 < found.amount.hi
    assert found.is_open


def test_the_last_two_readings_stand_beside_what_was_expected() -> None:
    case = moved({0: -60.0})
    found = only(case).findings[0]
    before, last = found.readings
    assert (before.on, last.on) == (ago(7), AS_OF)
    assert last.value == round(1000 * case.observations[-1].value)
    assert last.expected is not None
    assert last.expected - last.value == pytest.approx(60_000, abs=6_000)
    assert last.container == "c1"


def test_after_a_spill_long_ago_the_last_reading_is_as_expected() -> None:
    _, last = finding(moved(SPILL)).readings
    assert last.expected is not None
    assert last.value == pytest.approx(last.expected, abs=4_000)


def test_a_wrong_reading_is_told_on_its_day_with_what_it_shows_too_little() -> None:
    found = finding(moved({21: -60.0, 14: 60.0}))
    assert (found.name, found.from_day, found.to_day) == ("wrong_reading", ago(21), ago(21))
    assert found.amount.mid == pytest.approx(-60_000, abs=8_000)


def test_an_unbooked_gain_and_a_late_booking_are_told_with_their_size() -> None:
    gained = finding(moved({21: 300.0}))
    assert gained.name == "unbooked_gain"
    assert gained.amount.mid == pytest.approx(300_000, abs=10_000)
    late = Event(ago(19), "receipt", 300.0, 3.0)
    booked = finding(moved({21: 300.0}, events=(late,)))
    assert booked.name == "booked_late"
    assert booked.amount.mid == 300_000


def test_a_finding_fits_into_json() -> None:
    parts = json.loads(json.dumps(finding(moved(SPILL)).parts()))
    assert parts["name"] == "sudden_loss"
    assert parts["from_day"] == ago(27).isoformat()
    assert parts["amount"]["lo"] < parts["amount"]["mid"] < parts["amount"]["hi"]
    assert len(parts["readings"]) == 2


def test_a_pool_names_the_place_where_it_happened() -> None:
    places = (replace(a_bottle(), case_id="zone A"), replace(moved(SPILL), case_id="zone B"))
    found = only(Pool("item", places))
    assert found.alarm == "sudden_loss"
    assert {f.case_id for f in found.findings} == {"zone B"}


# --- answers --------------------------------------------------------------------------------------
def test_a_spill_that_was_found_closes_the_alarm_and_keeps_the_level() -> None:
    case = moved(SPILL)
    told = replace(case, answers=(Answer("sudden_loss", ago(27), ago(21)),))
    before, after = only(case), only(told)
    assert (before.alarm, after.alarm) == ("sudden_loss", "none")
    assert after.findings == ()
    assert after.level == pytest.approx(before.level, abs=1.0)
    assert after.factor == pytest.approx(1.0, abs=0.03)
    assert after.quantile(0.5) == pytest.approx(before.quantile(0.5), rel=0.02)


def test_of_several_intervals_the_one_that_fits_is_taken() -> None:
    case = moved(SPILL)
    narrow = replace(case, answers=(Answer("sudden_loss", ago(27), ago(21)),))
    wide = replace(case, answers=(Answer("sudden_loss", ago(60), AS_OF),))
    assert only(wide).alarm == "none"
    assert only(wide).quantiles == pytest.approx(only(narrow).quantiles, abs=0.5)


def test_a_leak_still_running_goes_on_and_a_stopped_one_does_not() -> None:
    case = moved(LEAK)
    runs = only(replace(case, answers=(Answer("steady_loss", ago(34), ago(28)),)))
    stopped = only(
        replace(case, answers=(Answer("steady_loss", ago(34), ago(28), stopped_on=AS_OF),))
    )
    assert (runs.alarm, stopped.alarm) == ("none", "none")
    assert runs.quantile(0.5) == pytest.approx(only(case).quantile(0.5), rel=0.1)
    # by hand: 3 mL a day instead of 5 from today on
    assert stopped.quantile(0.5) / runs.quantile(0.5) == pytest.approx(5 / 3, rel=0.15)


def test_weighed_again_and_all_right_is_not_asked_again() -> None:
    case = moved(SPILL)
    answered = only(replace(case, answers=(Answer("none", ago(27), ago(21)),)))
    assert all(not (f.from_day == ago(27) and f.weight > 0.5) for f in answered.findings)
    assert answered.alarm == "none"


def test_a_later_loss_is_found_though_an_earlier_one_was_answered() -> None:
    twice = moved({42: -120.0, 7: -100.0})
    answered = replace(twice, answers=(Answer("sudden_loss", ago(48), ago(42)),))
    found = only(answered)
    assert found.alarm == "sudden_loss"
    assert found.finding is not None
    assert found.finding.from_day == ago(13)


def test_a_reading_and_a_booking_that_were_wrong_are_taken_so() -> None:
    wrong = moved({21: -60.0, 14: 60.0})
    told = replace(wrong, answers=(Answer("wrong_reading", ago(21), ago(21)),))
    assert only(told).findings == ()
    late = Event(ago(19), "receipt", 300.0, 3.0)
    booked = moved({21: 300.0}, events=(late,))
    moved_back = replace(booked, answers=(Answer("booked_late", ago(27), ago(21)),))
    assert only(moved_back).findings == ()
    gained = replace(moved({21: 300.0}), answers=(Answer("unbooked_gain", ago(27), ago(21)),))
    assert only(gained).findings == ()


def test_an_answer_that_meets_no_weighing_changes_nothing() -> None:
    case = moved(SPILL)
    beside = replace(case, answers=(Answer("sudden_loss", ago(400), ago(390)),))
    assert only(beside).quantiles == only(case).quantiles


# --- slow things ----------------------------------------------------------------------------------
def habits(factor: float, marks: str = "d" * 28, given: str = "") -> dict[str, float]:
    """A bottle weighed weekly that gives ``factor`` of the plan on days marked in ``given``."""
    done = np.cumsum([factor * 3.0 if mark == "d" else 0.0 for mark in given or marks])
    days = len(marks)
    left = [490.0, *(490.0 - done[6::7])]
    seen = tuple(weighed(round(x, 1), days - 7 * n) for n, x in enumerate(left))
    first = AS_OF - timedelta(days=days - 1)
    case = a_case(observations=seen, ticks={"T01": marks}, history_from=first)
    return {told.habit: told.mid for told in only(case).told}


def test_a_pump_that_gives_less_or_more_is_told() -> None:
    assert habits(0.85)["gives_less"] == pytest.approx(0.85, abs=0.03)
    assert habits(1.2)["gives_more"] == pytest.approx(1.2, abs=0.04)
    assert habits(1.0) == {}


def test_unticked_days_that_were_done_and_that_were_not_are_told_apart() -> None:
    marks = "d" * 56 + "m" * 70
    assert habits(1.0, marks, "d" * 126)["unticked_done"] == pytest.approx(1.0, abs=0.05)
    left_out = habits(1.0, marks, "d" * 56 + "-" * 70)["unticked_left_out"]
    assert left_out == pytest.approx(0.0, abs=0.2)  # the prior of 0.8 holds on a little


def test_one_weighing_tells_no_habit() -> None:
    case = a_case(observations=(weighed(500.0, 28, kind="full", sd=5.0), weighed(300.0, 0)))
    assert only(case).told == ()


# --- beside the projection ------------------------------------------------------------------------
def test_the_plan_alone_by_hand() -> None:
    # weighed today: 421 mL less 5 at 3 mL a day are 138.67 days, give and take 10 %
    found = only(a_case())
    assert found.plan_quantiles[9] == pytest.approx(416 / 3, abs=1e-9)
    assert found.plan_quantiles[1] == pytest.approx(416 / 3 * (1 - 0.1281552), abs=1e-4)
    # weighed a week ago: three of seven doses were skipped since, twelve millilitres given
    case = a_case(observations=(weighed(421.0, 7),), ticks={"T01": "d" * 21 + "dsdsdsd"})
    assert only(case).plan_quantiles[9] == pytest.approx((416 - 12) / 3, abs=1e-9)


def test_a_weighing_would_narrow_a_range_that_rests_on_the_plan() -> None:
    unmeasured = only(a_case(observations=(weighed(500.0, 28, kind="full", sd=25.0),)))
    measured = only(a_case())
    for found in (unmeasured, measured):
        width = found.quantile(0.9) - found.quantile(0.1)
        assert found.width80_if_weighed is not None
        assert found.width80_if_weighed < width
    gain = [
        found.width80_if_weighed / (found.quantile(0.9) - found.quantile(0.1))
        for found in (unmeasured, measured)
        if found.width80_if_weighed
    ]
    assert gain[0] < gain[1]


def test_weighing_every_place_narrows_the_range_of_their_item() -> None:
    unmeasured = (weighed(500.0, 28, kind="full", sd=25.0),)
    places = tuple(a_case(case_id=f"zone {z}", observations=unmeasured) for z in "AB")
    for reserve in (0.0, 200.0):
        found = only(Pool("item", places, reserve=reserve, reserve_sd=2.0))
        assert found.width80_if_weighed is not None
        assert found.width80_if_weighed < found.quantile(0.9) - found.quantile(0.1)


def test_what_is_left_of_places_adds_up_to_their_pool() -> None:
    keep = Options(keep_left=True)
    places = (a_case(case_id="zone A"), replace(a_bottle(), case_id="zone B"))
    parts = [only(place, keep).left for place in places]
    whole = only(Pool("item", places), keep).left
    assert whole is not None
    for day in (0, 30, 400):
        means = sum(part.mean[day] for part in parts if part)
        assert whole.mean[day] == pytest.approx(means, abs=1e-9)
        variances = sum(part.variance[day] for part in parts if part)
        assert whole.variance[day] == pytest.approx(variances, abs=1e-9)
    assert only(places[0]).left is None
