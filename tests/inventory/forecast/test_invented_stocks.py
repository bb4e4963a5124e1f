"""Ranges, alarms and order days against what really happened to 106 invented stocks.

Source: tests/outside/forecast_cases, made by a simulator that knows nothing of the engine (seed 35,
six stocks of each regime); `truth` is what happened in it, `oracle` what somebody foresaw who knew
level, factor and losses and not the coming chance. The engine was never fitted to these cases.
Bounds leave room for luck: with 106 stocks the share inside has a standard error of 0.04.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from inventory.forecast import delivery
from inventory.forecast.read import case_from
from inventory.forecast.score import crps
from inventory.forecast.types import LEVELS
from tests.benchmarks import calibration
from tests.benchmarks.calibration import Scored, picture, scored, told

FOLDER = Path(__file__).parents[2] / "outside" / "forecast_cases"
TRUTH = list(csv.DictReader((FOLDER / "truth" / "truth.csv").read_text("utf-8").splitlines()))


@pytest.fixture(scope="module")
def one() -> Scored:
    return scored("invented", FOLDER)


def ratios(one: Scored, other: np.ndarray) -> dict[str, float]:
    """Our CRPS relative to another's, by regime."""
    regimes = np.array(one.regime)
    own = {regime: regimes == regime for regime in sorted(set(one.regime))}
    return {name: float(one.ours[at].mean() / other[at].mean()) for name, at in own.items()}


def middle(values: dict[str, float]) -> float:
    return float(np.exp(np.mean(np.log(list(values.values())))))


def test_four_of_five_truths_lie_between_p10_and_p90(one: Scored) -> None:
    assert 0.72 <= one.inside.mean() <= 0.9
    assert np.abs(one.tenths - 0.1).max() <= 0.1


@pytest.mark.parametrize(("simple", "most"), [("plan", 0.36), ("average", 0.24), ("line", 0.32)])
def test_it_is_sharper_than_the_simple_forecasts(one: Scored, simple: str, most: float) -> None:
    beside = ratios(one, one.simple[simple])
    assert middle(beside) <= most
    if simple == "plan":
        assert max(beside.values()) <= 1.1, beside


def test_it_stays_within_a_few_times_of_one_who_knows_everything_but_the_future(
    one: Scored,
) -> None:
    rows = csv.DictReader((FOLDER / "truth" / "oracle.csv").read_text("utf-8").splitlines())
    known = {
        row["case_id"]: [float(row[f"p{round(100 * level):02d}"]) for level in LEVELS]
        for row in rows
    }
    oracle = np.array(
        [crps(known[row["case_id"]], t) for row, t in zip(TRUTH, one.truth, strict=True)]
    )
    assert middle(ratios(one, oracle)) <= 3.5


def test_losses_are_found_and_named_and_healthy_stocks_left_alone(one: Scored) -> None:
    found = [(row["fault"], f.alarm) for row, f in zip(TRUTH, one.found, strict=True)]
    assert sum(fault == "none" and alarm != "none" for fault, alarm in found) <= 1
    spills = [alarm for fault, alarm in found if fault == "sudden_loss"]
    leaks = [alarm for fault, alarm in found if fault == "steady_loss"]
    assert spills.count("sudden_loss") >= len(spills) - 1 > 0
    assert leaks.count("steady_loss") >= len(leaks) - 2 > 0


def test_the_size_told_of_a_loss_holds_the_true_one(one: Scored) -> None:
    inside = []
    for row, found in zip(TRUTH, one.found, strict=True):
        finding = found.finding
        if row["fault"] == "none" or finding is None or finding.name != row["fault"]:
            continue
        size = finding.rate_per_day if row["fault"] == "steady_loss" else finding.amount
        assert size is not None
        inside.append(size.lo <= 1000 * float(row["fault_size"]) <= size.hi)
    assert len(inside) >= 12
    assert np.mean(inside) >= 0.5


def test_an_order_of_the_day_told_comes_in_time(one: Scored) -> None:
    lines = (FOLDER / "seen" / "cases.jsonl").read_text("utf-8").splitlines()
    cases = {case.case_id: case for case in map(case_from, map(calibration.json.loads, lines))}
    served = []
    for row, found in zip(TRUTH, one.found, strict=True):
        case, end = cases[row["case_id"]], float(row["runout_days"])
        assert case.supplier is not None
        comes = delivery.arrivals(case.supplier, case.as_of, 600)
        first = int(case.supplier.past_cut_off_today)
        lead = int(row["lead_days"])
        if end >= 400 or comes[first + lead] > end:
            continue
        assert found.order_by is not None
        served.append(comes[max(found.order_by, first) + lead] <= end)
    assert len(served) > 60
    assert np.mean(served) >= 0.9


def test_the_picture_and_the_tables_are_the_same_each_time(one: Scored) -> None:
    again = scored("invented", FOLDER)
    assert picture([one]) == picture([again])
    assert told(one) == told(again)
    assert "106 stocks" in told(one)
    assert picture([one]).count("<rect") == 2 + 10  # sheet, band of luck, ten tenths


def test_a_folder_without_truth_is_refused(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    monkeypatch.setattr("sys.argv", ["calibration", f"mine={tmp_path}"])
    with pytest.raises(SystemExit):
        calibration.main()
    assert "give name=CASES_DIR" in capsys.readouterr().err
