"""What goes wrong is found and named, and what is well is left alone.

Source of the run lengths: tests/outside/forecast_cusum_arl.csv. The planted mishaps are invented.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from inventory.forecast.bank import Held, cusum, is_open
from inventory.forecast.change import NAMES
from inventory.forecast.engine import project
from inventory.forecast.types import Case, Event, Options, Vessel
from tests.inventory.forecast.alone import held
from tests.inventory.forecast.cases import AS_OF, a_case, weighed

DAYS = 112
WEEKS = tuple(range(DAYS - 7, -1, -7))
RUN_LENGTHS = {
    (float(row["k"]), float(row["h"]), float(row["shift_sigma"])): float(row["computed_one_sided"])
    for row in csv.DictReader(
        (Path(__file__).parents[2] / "outside" / "forecast_cusum_arl.csv")
        .read_text("utf-8")
        .splitlines()
    )
}


@pytest.mark.parametrize(
    ("shift", "runs", "tolerance"), [(0.0, 1500, 0.08), (1.0, 4000, 0.04), (2.0, 4000, 0.04)]
)
def test_mean_run_length_of_the_cusum(shift: float, runs: int, tolerance: float) -> None:
    # tolerance: three standard errors of that many simulated runs
    readings = 4_000 if shift == 0 else 120
    z = np.random.default_rng(3).normal(-shift, 1, (readings, runs))
    over = cusum(z, np.ones(z.shape, dtype=bool)) > 4
    assert over.any(0).all()
    lengths = over.argmax(0) + 1
    expected = RUN_LENGTHS[0.5, 4.0, shift]
    assert np.mean(lengths) == pytest.approx(expected, rel=tolerance)


def a_bottle(seed: int = 1, **changes: object) -> Case:
    """1,000 mL at 3 mL a day, 10 % noise a day, weighed weekly for sixteen weeks."""
    return replace(
        a_case(
            vessels=(Vessel("c1", 1000.0, 10.0, 5.0),),
            history_from=AS_OF - timedelta(days=DAYS - 1),
            ticks={"T01": "d" * DAYS},
            observations=tuple(weighed(x, ago) for x, ago in zip(truth(seed), WEEKS, strict=True)),
        ),
        **changes,  # type: ignore[arg-type]
    )


def truth(seed: int = 1) -> list[float]:
    rng = np.random.default_rng(seed)
    used = np.cumsum(rng.normal(3, 0.3, DAYS))[6::7]
    return [float(x) for x in np.round(900 - used + rng.normal(0, 1.0, len(used)))]


def moved(by_ago: dict[int, float], **changes: object) -> Case:
    """Readings changed by so much from so many days ago on, each on top of the last."""
    plain = a_bottle()
    seen = tuple(
        replace(
            o,
            value=o.value + sum(by for ago, by in by_ago.items() if (AS_OF - o.on).days <= ago),
        )
        for o in plain.observations
    )
    return replace(plain, observations=seen, **changes)  # type: ignore[arg-type]


def likeliest(case: Case) -> tuple[str, float]:
    shares = held(case).by_name(1)[0]
    assert shares.sum() == pytest.approx(1)
    best = int(shares.argmax())
    return NAMES[best], float(shares[best])


LEAK = dict.fromkeys((28, 21, 14, 7, 0), -14.0)
SPILL = {21: -120.0}


def test_a_steady_loss_is_named_sized_and_goes_on() -> None:
    leaking = moved(LEAK)
    (found,) = project([leaking])
    assert found.alarm == "steady_loss"
    name, share = likeliest(leaking)
    assert name == "steady_loss"
    assert share > 0.9
    every: Held = held(leaking)
    assert every.state.mean[-1, every.share.argmax()] == pytest.approx(2.0, abs=0.5)
    assert found.factor == pytest.approx(1.0, abs=0.1)
    # 5 mL a day instead of 3 from now on, by hand
    left = truth()[-1] - 70 - 10
    assert found.quantile(0.5) == pytest.approx(left / 5, rel=0.1)


def test_a_sudden_loss_is_named_and_does_not_go_on() -> None:
    (found,) = project([moved(SPILL)])
    assert found.alarm == "sudden_loss"
    assert found.factor == pytest.approx(1.0, abs=0.05)
    assert found.quantile(0.5) == pytest.approx((truth()[-1] - 130) / 3, rel=0.1)


def test_one_wrong_reading_is_no_loss() -> None:
    wrong = moved({21: -60.0, 14: 60.0})
    assert likeliest(wrong)[0] == "wrong_reading"
    assert project([wrong])[0].alarm == "none"


def test_more_than_booked_is_an_unbooked_gain() -> None:
    refilled = moved({21: 300.0})
    assert likeliest(refilled)[0] == "unbooked_gain"
    assert project([refilled])[0].alarm == "none"


def test_a_receipt_booked_too_late_is_told_from_a_loss() -> None:
    # it came 24 days ago and was booked 19 days ago; weighed in between
    late = Event(AS_OF - timedelta(days=19), "receipt", 300.0, 3.0)
    case = moved({21: 300.0}, events=(late,))
    assert likeliest(case)[0] == "booked_late"
    assert project([case])[0].alarm == "none"


def test_without_the_bank_nothing_is_named() -> None:
    (found,) = project([moved(SPILL)], Options(bank=False))
    assert found.alarm == "none"


def test_a_healthy_stock_raises_no_alarm_at_any_of_its_weighings() -> None:
    # stated rate: one false alarm in about 600 weighings; 20 stocks of 16 weighings replayed
    alarms = 0
    for seed in range(20):
        case = a_bottle(seed)
        for n in range(3, len(WEEKS)):
            as_of = AS_OF - timedelta(days=WEEKS[n])
            then = replace(case, as_of=as_of, ticks={"T01": "d" * (DAYS - WEEKS[n])}, supplier=None)
            alarms += project([then])[0].alarm != "none"
    assert alarms <= 1


def test_a_healthy_stock_does_not_open_the_bank_and_misses_on_either_side_do() -> None:
    def opened(*z: float) -> bool:
        column = np.array(z)[:, None]
        return bool(is_open(column, np.ones_like(column, dtype=bool))[0])

    assert not opened(9.0, 0.5, -1.0, 1.2, -0.3)
    assert opened(0.0, 0.5, -2.6)
    assert opened(0.0, 0.5, 2.6)
    assert opened(0.0, *[-1.5] * 4)
    assert not opened(0.0, 2.6, *[0.0] * 20)
