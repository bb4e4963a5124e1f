"""What sisters teach of the speed of drift. Figures by hand; no outside source."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from inventory.forecast.drift import PRIOR_SISTERS, weights
from inventory.forecast.engine import project
from inventory.forecast.stocks import ALONE
from inventory.forecast.types import Answer, Case, Options
from tests.inventory.forecast.cases import AS_OF, a_case, weighed

USUAL = np.array([0.85, 0.15])


def told(quicker: list[float], group: list[int], teaches: list[bool] | None = None) -> np.ndarray:
    """Weight of the quicker drift where its log evidence is so much greater."""
    evidence = np.array([[0.0] * len(quicker), quicker])
    every = np.array(teaches if teaches is not None else [True] * len(quicker))
    found = weights(evidence, USUAL, np.array(group), every)
    assert found.sum(0) == pytest.approx(np.ones(len(quicker)))
    return found[1]


def test_alone_the_usual_weights_stay() -> None:
    assert told([5.0, -5.0], [ALONE, ALONE]) == pytest.approx(np.array([0.15, 0.15]))


def test_two_sisters_by_hand() -> None:
    # the first is certain of the quicker drift, the second holds its own evidence for nothing:
    # each takes the usual weight once and the other's share once
    first, second = told([60.0, -60.0], [0, 0])
    assert second == pytest.approx((0.15 * PRIOR_SISTERS + 1) / (PRIOR_SISTERS + 1), abs=1e-9)
    assert first == pytest.approx(0.15 * PRIOR_SISTERS / (PRIOR_SISTERS + 1), abs=1e-9)


def test_many_that_lean_one_way_are_sure_together() -> None:
    assert told([1.5] * 12, [0] * 12).min() > 0.7
    assert told([-0.5] * 12, [0] * 12).max() < 0.08
    assert told([0.0] * 12, [0] * 12) == pytest.approx(np.full(12, 0.15), abs=0.01)


def test_a_stock_with_a_loss_and_another_group_teach_nothing() -> None:
    lossy = told([50.0] * 6 + [0.0] * 6, [0] * 12, [False] * 6 + [True] * 6)
    assert lossy[6:] == pytest.approx(np.full(6, 0.15), abs=0.01)
    beside = told([50.0] * 6 + [0.0] * 6, [0] * 6 + [1] * 6)
    assert beside[6:] == pytest.approx(np.full(6, 0.15), abs=0.01)


def drifting(name: str, by: float) -> Case:
    """A bottle whose use grows by a part of itself each week, weighed weekly."""
    days, left, seen = 105, 900.0, []
    for week in range(15):
        left -= 21 * (1 + by * week)
        seen.append(weighed(round(left, 1), days - 7 * (week + 1)))
    case = a_case(case_id=name, group="item", ticks={"T01": "d" * days}, observations=tuple(seen))
    return replace(
        case,
        history_from=AS_OF - timedelta(days=days - 1),
        vessels=(replace(case.vessels[0], nominal=1000.0),),
    )


def test_sisters_that_drift_make_a_range_wider_and_steady_ones_narrower() -> None:
    def width(sisters: float) -> float:
        others = [drifting(f"s{n}", sisters) for n in range(8)]
        found = project([drifting("me", 0.0), *others])[0]
        assert found.alarm == "none"
        return found.quantile(0.9) - found.quantile(0.1)

    assert width(0.02) > 1.2 * width(0.0)


def test_a_steady_drift_is_carried_on_and_named_by_no_alarm() -> None:
    # use grows by 1/50 of the plan each week, 3 mL a day at first: 0.86 mL a day in 100 days; after
    # 105 days 3.9 mL a day are given. With what is left at that pace it would last longer than it
    # does when the growth goes on
    case = drifting("me", 0.02)
    found, walks = project([case])[0], project([case], Options(trend=None))[0]
    left, day, used = found.level, 0, 0.0
    while used < left:
        used += 3 * (1 + 0.02 * (14.5 + day / 7))
        day += 1
    assert found.alarm == "none"
    assert abs(found.quantile(0.5) - day) < abs(walks.quantile(0.5) - day)
    assert found.quantile(0.1) < day < found.quantile(0.9)
    assert found.sisters[0].trend == pytest.approx(0.10, abs=1e-12)


def test_sisters_that_go_one_way_teach_that_there_is_a_way() -> None:
    steady = [drifting(f"s{n}", 0.0) for n in range(8)]
    going = [drifting(f"g{n}", 0.02 if n % 2 else -0.02) for n in range(8)]
    among_steady = project([drifting("me", 0.0), *steady])[0].sisters[0].trend
    among_going = project([drifting("me", 0.0), *going])[0].sisters[0].trend
    assert among_steady is not None
    assert among_going is not None
    assert among_steady < 0.10 < among_going


def test_no_drift_is_asked_for_where_a_loss_is_taken_as_given() -> None:
    case = drifting("me", 0.0)
    answer = Answer("steady_loss", AS_OF - timedelta(days=13), AS_OF - timedelta(days=7))
    told = replace(case, answers=(answer,))
    found, walks = project([told])[0], project([told], Options(trend=None))[0]
    assert found.quantiles == pytest.approx(walks.quantiles, rel=0.02)
