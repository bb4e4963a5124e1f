"""How single records move what is believed of content and use."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from inventory.forecast.engine import project
from inventory.forecast.readings import readings
from inventory.forecast.types import Observation, Vessel
from tests.inventory.forecast.alone import believed
from tests.inventory.forecast.cases import AS_OF, DAYS, a_case, a_line, weighed


def test_a_scale_used_less_often_moves_the_level_less() -> None:
    usual = (weighed(484.0, 21, scale="A"), weighed(463.0, 14, scale="A"))
    same = believed(a_case(observations=(*usual, weighed(430.0, 0, scale="A"))))
    other = believed(a_case(observations=(*usual, weighed(430.0, 0, scale="B"))))
    # 421 was to be expected; a strange scale reading 9 mL high is partly put down to the scale
    assert same.level - 425 > other.level - 425
    assert other.mean[-2] > 1


def test_a_look_in_quarters_counts_when_no_weighing_is_near_and_only_a_little() -> None:
    seen = Observation(AS_OF, "eye", 0.5, "c1")
    with_look = a_case(observations=(weighed(484.0, 21), seen))
    without = a_case(observations=(weighed(484.0, 21),))
    soon = a_case(observations=(weighed(424.0, 3), seen))
    assert len(readings(with_look)) == 2
    assert len(readings(soon)) == 1
    assert believed(with_look).level < believed(without).level
    assert believed(without).level - believed(with_look).level < 60


def test_a_spill_long_ago_does_not_teach_the_factor() -> None:
    days = 200
    spilled = tuple(
        weighed(900.0 - 3.0 * (days - ago) - (150.0 if ago < 180 else 0.0), ago)
        for ago in range(196, -1, -7)
    )
    case = a_case(
        history_from=AS_OF - timedelta(days=days - 1),
        ticks={"T01": "d" * days},
        vessels=(Vessel("c1", 1000.0, 10.0, 0.0),),
        observations=spilled,
    )
    assert believed(case).mean[1] == pytest.approx(1.0, abs=0.02)


def test_a_doubled_tick_is_mostly_a_doubled_record() -> None:
    once = believed(a_case(observations=(weighed(421.0, 7),)))
    marks = "d" * (DAYS - 1) + "2"
    twice = believed(a_case(observations=(weighed(421.0, 7),), ticks={"T01": marks}))
    assert once.level - twice.level == pytest.approx(0.3 * 3.0, abs=0.05)
    assert twice.cov[0, 0] > once.cov[0, 0]


def test_unticked_days_are_worth_four_fifths_until_weighings_say_otherwise() -> None:
    marks = "d" * (DAYS - 7) + "m" * 7
    done = believed(a_case(observations=(weighed(421.0, 7),)))
    unticked = believed(a_case(observations=(weighed(421.0, 7),), ticks={"T01": marks}))
    assert unticked.level - done.level == pytest.approx(0.2 * 21, abs=0.5)


def test_lines_share_what_is_learned_of_their_item() -> None:
    plan = (a_line("T01"), a_line("T02", 9.0))
    ticks = {"T01": "d" * DAYS, "T02": "d" * DAYS}
    ago = (28, 21, 14, 7, 0)
    seen = tuple(weighed(490 - 0.9 * 12 * (28 - n), n) for n in ago)
    case = a_case(plan=plan, ticks=ticks, observations=seen)
    state = believed(case)
    assert state.mean[1] < 1
    assert state.mean[2] < 1
    assert project([case])[0].factor == pytest.approx(0.9, abs=0.02)


def test_observations_after_the_last_known_day_are_left_out() -> None:
    later = replace(weighed(100.0, 0), on=AS_OF + timedelta(days=1))
    case = a_case()
    assert readings(replace(case, observations=(*case.observations, later))) == readings(case)
