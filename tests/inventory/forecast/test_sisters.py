"""What stocks of one item teach each other. Figures by hand; no outside source."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from inventory.forecast.engine import project
from inventory.forecast.prior import of_kind, shares
from inventory.forecast.sisters import ALIKE_PRIOR_N, Beliefs, Taught, beliefs, worth
from inventory.forecast.stocks import ALONE, KINDS
from inventory.forecast.types import Case
from tests.inventory.forecast.cases import AS_OF, DAYS, a_case, weighed


def sister(name: str, factor: float = 0.85, **changes: object) -> Case:
    """A bottle weighed weekly that gives ``factor`` of 3 mL a day."""
    seen = tuple(weighed(480 - factor * 3 * (DAYS - ago), ago) for ago in (28, 21, 14, 7, 0))
    case = a_case(case_id=name, group="item", observations=seen)
    return replace(case, **changes)  # type: ignore[arg-type]


def taught(estimates: list[float], variance: float) -> Beliefs:
    """What bottles of one group hold after these estimates, none with a noise of its own."""
    n = len(estimates)
    kind, group = np.full(n, KINDS.index("bottle")), np.zeros(n, dtype=np.int64)
    said = Taught(
        np.array(estimates), np.full(n, variance), np.ones(n, dtype=bool), np.zeros(n), np.zeros(n)
    )
    return beliefs(kind, group, said)


def just_opened(name: str = "new", group: str = "item") -> Case:
    """A bottle opened today: full, never weighed, nothing given yet."""
    full = weighed(500.0, 0, kind="full", sd=5.0, resolution=0.0)
    return a_case(case_id=name, group=group, observations=(full,), history_from=AS_OF, ticks={})


def test_a_bottle_opened_today_expects_what_its_sisters_gave() -> None:
    others = [sister(f"s{n}") for n in range(6)]
    alone, taught = project([just_opened()])[0], project([*others, just_opened()])[-1]
    assert alone.factor == pytest.approx(1.0, abs=1e-3)
    assert taught.factor == pytest.approx(0.85, abs=0.04)
    assert taught.factor_sd is not None
    assert alone.factor_sd is not None
    assert taught.factor_sd < 0.75 * alone.factor_sd


def test_no_stock_teaches_itself() -> None:
    # two sisters: each belief rests on the other alone
    found = taught([0.8, 1.2], 0.001)
    assert found.mean[0] > 1 > found.mean[1]


def test_a_belief_by_hand() -> None:
    # t = 0.12, G = 0.18; both estimates 0.9 with variance 0.01. Spread is 5 t^2 / 7 in each round,
    # as the excess over the variance is nil; weight of the one sister 1 / (0.01 + 0.0102857)
    spread = 5 * 0.12**2 / 7
    weight, prior = 1 / (0.01 + spread), 1 / 0.18**2
    found = taught([0.9, 0.9], 0.01)
    assert found.mean[0] == pytest.approx((prior + 0.9 * weight) / (prior + weight), abs=1e-12)
    assert found.variance[0] == pytest.approx(spread + 1 / (prior + weight), abs=1e-12)


def test_one_sister_with_a_loss_hardly_moves_the_others() -> None:
    sound = [sister(f"s{n}", 1.0) for n in range(6)]
    leaking = sister("s9", 2.5)
    told = [project([*some, just_opened()])[-1].factor for some in (sound, [*sound, leaking])]
    assert told[0] is not None
    assert told[1] == pytest.approx(told[0], abs=0.05)


def test_another_item_and_another_kind_teach_nothing() -> None:
    others = [sister(f"s{n}", group="other") for n in range(4)]
    cans = [sister(f"k{n}", kind="can") for n in range(4)]
    assert project([*others, *cans, just_opened()])[-1] == project([just_opened()])[0]


def test_a_group_gives_the_same_bits_in_any_order_and_beside_others() -> None:
    group = [sister(f"s{n}", 0.8 + 0.1 * n) for n in range(4)]
    forward = project(group)
    assert project(group[::-1])[::-1] == forward
    assert project([sister("x", 0.5, group="other"), *group])[1:] == forward


def test_a_stock_asked_for_twice_teaches_once() -> None:
    group = [sister(f"s{n}", 0.8 + 0.1 * n) for n in range(3)]
    assert project([*group, *group])[:3] == project(group)


def test_noisy_weighings_widen_and_steady_ones_narrow() -> None:
    steady = [sister(f"s{n}", 1.0) for n in range(6)]
    wild = [
        replace(c, observations=tuple(
            replace(o, value=o.value + (9 if k % 2 else -9)) for k, o in enumerate(c.observations)
        ))
        for c in steady
    ]  # fmt: skip
    quiet, loud = (project(group)[0].sisters[0].noise for group in (steady, wild))
    assert quiet < 1 < loud
    assert quiet >= 0.5
    assert loud <= 2.5


def test_shares_lean_on_the_group() -> None:
    # by hand: group (10+56.4, 30+2.1, 0+1.5)/100, own (0 + 15 x group)/15
    found = shares((0, 0, 0), (10, 30, 0))
    assert found.done == pytest.approx(0.664)
    assert found.skipped == pytest.approx(0.321)
    assert found.unticked == pytest.approx(0.015)


def test_alone_is_the_belief_of_its_kind() -> None:
    alone, assumed = taught([0.5], 0.001), of_kind("bottle")
    assert (alone.mean[0], alone.variance[0]) == (assumed.mean, assumed.variance)


# --- what is left out -----------------------------------------------------------------------------
def test_alone_the_usual_shares_are_worth_fifteen_doses() -> None:
    counts = np.array([[100.0, 5.0, 3.0], [0.0, 0.0, 0.0]])
    assert worth(counts, np.array([ALONE, ALONE])) == pytest.approx(np.full(2, 15.0))


def test_sisters_that_leave_out_alike_by_hand() -> None:
    # two sisters, 100 doses each, 4 skipped each: no spread between them, so one degree of freedom
    # less than chance gives, and 99 doses of information: rho = (100/16 - 1) / (100 + 99)
    counts = np.array([[96.0, 4.0, 0.0]] * 2)
    rho = (ALIKE_PRIOR_N / 16 - 1) / (ALIKE_PRIOR_N + 99)
    assert worth(counts, np.zeros(2, dtype=np.int64)) == pytest.approx(np.full(2, 1 / rho - 1))


def test_sisters_that_differ_are_worth_less_than_those_that_do_not() -> None:
    group = np.zeros(12, dtype=np.int64)
    alike = np.array([[96.0, 4.0, 0.0]] * 12)
    apart = np.array([[99.0, 1.0, 0.0]] * 6 + [[70.0, 30.0, 0.0]] * 6)
    assert worth(alike, group)[0] > 100
    assert worth(apart, group)[0] < 15
