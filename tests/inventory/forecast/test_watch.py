"""Plain rules: each finds what was planted and stays quiet when it was not."""

from __future__ import annotations

import itertools
from datetime import date, timedelta

import numpy as np
import pytest

from inventory.forecast.watch import (
    GasRule,
    WeighedUse,
    gas_over_own_median,
    must_reorder,
    press_off,
    too_old_before_used_up,
)

TODAY = date(2026, 3, 11)


def line(days: list[int], used: list[float], planned_a_day: float = 8.0) -> list[WeighedUse]:
    """Intervals of so many days that end today."""
    out, end = [], TODAY
    for n, grams in zip(reversed(days), reversed(used), strict=True):
        out.append(WeighedUse(end - timedelta(days=n), end, grams, planned_a_day * n))
        end -= timedelta(days=n)
    return out[::-1]


def test_nine_days_of_eleven_grams_instead_of_eight_are_found() -> None:
    days = [7, 7, 7, 2, 1, 2, 2, 2]
    used = [56.0, 57.0, 55.0, 22.4, 11.2, 22.4, 22.4, 22.4]
    found = gas_over_own_median(line(days, used), scale_sd_g=4.0)
    assert found is not None
    assert found.g_per_day == pytest.approx(11.2, abs=0.1)
    assert found.usual_g_per_day == pytest.approx(8.0, abs=0.1)
    assert found.start == TODAY - timedelta(days=9)


def test_the_same_line_without_the_loss_is_quiet() -> None:
    days = [7, 7, 7, 2, 1, 2, 2, 2]
    used = [56.0, 57.0, 55.0, 16.0, 8.0, 16.0, 16.0, 16.0]
    assert gas_over_own_median(line(days, used), scale_sd_g=4.0) is None


def test_a_doubled_plan_is_no_loss() -> None:
    uses = [*line([7, 7, 7], [56.0, 56.0, 56.0]), WeighedUse(TODAY, TODAY, 0.0, 0.0)][:3]
    later = TODAY + timedelta(days=5)
    uses += [
        WeighedUse(TODAY, later, 80.0, 80.0),
        WeighedUse(later, later + timedelta(days=4), 64.0, 64.0),
    ]
    assert gas_over_own_median(uses, scale_sd_g=4.0) is None


def test_gas_that_goes_while_nothing_is_planned_is_found() -> None:
    uses = line([7, 7, 7], [56.0, 56.0, 56.0])
    shut = [
        WeighedUse(TODAY, TODAY + timedelta(days=2), 14.0, 0.0),
        WeighedUse(TODAY + timedelta(days=2), TODAY + timedelta(days=4), 14.0, 0.0),
    ]
    found = gas_over_own_median([*uses, *shut], scale_sd_g=4.0)
    assert found is not None
    assert found.planned_g_per_day == 0


def test_one_short_interval_within_the_noise_of_the_scale_is_quiet() -> None:
    # 1.5 g a day, weighed weekly on a scale of 4 g: 50 % too much is noise
    uses = line([7, 7, 7, 7], [10.0, 11.0, 10.0, 16.0], planned_a_day=1.5)
    assert gas_over_own_median(uses, scale_sd_g=4.0) is None


def test_without_an_own_history_there_is_no_own_median() -> None:
    uses = line([4, 3, 3], [60.0, 50.0, 50.0])
    assert gas_over_own_median(uses, scale_sd_g=4.0) is None


def test_healthy_lines_weighed_weekly_are_seldom_called_wrong() -> None:
    # 300 healthy lines, day noise 12.5 %, scale sd 4 g and resolution 5 g (assumed, no source)
    rng = np.random.default_rng(7)
    wrong = 0
    for _ in range(300):
        per_day = float(rng.choice([1.5, 2.5, 6.0, 8.0, 18.0]))
        true = 2000 - np.cumsum(rng.normal(per_day, 0.125 * per_day, 56))
        seen = [round((x + rng.normal(0, 4)) / 5) * 5 for x in [2000, *true[6::7]]]
        used = [float(a - b) for a, b in itertools.pairwise(seen)]
        wrong += gas_over_own_median(line([7] * 8, used, per_day), scale_sd_g=4.0) is not None
    assert wrong <= 6


@pytest.mark.parametrize("seed", range(5))
def test_the_planted_loss_is_found_through_a_noisy_scale(seed: int) -> None:
    rng = np.random.default_rng(seed)
    found = 0
    for _ in range(40):
        rate = np.array([8.0] * 42 + [11.2] * 9)
        true = np.concatenate(([2000.0], 2000 - np.cumsum(rate * rng.normal(1, 0.05, 51))))
        at = [0, 7, 14, 21, 28, 35, 42, 43, 45, 46, 48, 50, 51]
        seen = [round(float(true[d] + rng.normal(0, 2))) for d in at]
        spans = [b - a for a, b in itertools.pairwise(at)]
        used = [float(a - b) for a, b in itertools.pairwise(seen)]
        found += gas_over_own_median(line(spans, used), scale_sd_g=2.0) is not None
    assert found >= 36


def test_stricter_thresholds_are_arguments() -> None:
    days, used = [7, 7, 7, 3, 3, 3], [56.0, 56.0, 56.0, 33.6, 33.6, 33.6]
    assert gas_over_own_median(line(days, used), 2.0) is not None
    assert gas_over_own_median(line(days, used), 2.0, GasRule(times_median=1.5)) is None


def test_a_pump_at_0_924_is_off_and_one_at_0_96_is_not() -> None:
    found = press_off(924, 1_000, date(2026, 2, 20))
    assert found is not None
    assert found.off_percent == -7.6
    assert press_off(960, 1_000, date(2026, 2, 20)) is None
    assert press_off(924, 924, date(2026, 2, 20)) is None


def too_old(**changes: object):  # type: ignore[no-untyped-def]
    given: dict[str, object] = {
        "opened_on": TODAY - timedelta(days=16),
        "opened_life_days": 28,
        "as_of": TODAY,
        "level": 170.0,
        "use_per_day": 5.795 * 6 / 7,
        "nominal": 250.0,
    }
    return too_old_before_used_up(**(given | changes))  # type: ignore[arg-type]


def test_a_large_tub_opened_sixteen_days_ago_will_be_too_old() -> None:
    found = too_old()
    assert found is not None
    assert found.too_old_on == TODAY + timedelta(days=12)
    assert found.wasted == pytest.approx(170 - 12 * 5.795 * 6 / 7, abs=0.01)


def test_a_hundred_gram_tub_is_used_up_in_time() -> None:
    # 100 g last 20.1 days at the fleet's use, inside 28 opened days
    assert too_old(opened_on=TODAY, level=100.0, nominal=100.0) is None


def test_the_printed_date_counts_when_it_comes_first() -> None:
    found = too_old(printed_expiry=TODAY + timedelta(days=2))
    assert found is not None
    assert found.too_old_on == TODAY + timedelta(days=2)


def test_order_by_before_the_next_look_must_be_acted_on() -> None:
    assert must_reorder(TODAY + timedelta(days=7), TODAY, 7)
    assert not must_reorder(TODAY + timedelta(days=8), TODAY, 7)
