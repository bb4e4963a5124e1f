"""The filter, the run-out and the order against a worked example reckoned outside the program.

Source: tests/outside/forecast_worked_example.json, own calculation by scalar formulas, checked
against a second, vectorised implementation; tolerance 1e-6 absolute. One speed of drift (0.002).
"""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest

from inventory.forecast import delivery, prior, runout
from inventory.forecast.days import lay_out
from inventory.forecast.engine import project
from inventory.forecast.read import case_from
from inventory.forecast.readings import readings
from inventory.forecast.types import Options
from tests.inventory.forecast.alone import believed

EXAMPLE = json.loads(
    (Path(__file__).parents[2] / "outside" / "forecast_worked_example.json").read_text("utf-8")
)


@pytest.fixture(scope="module")
def found() -> dict[str, float]:
    case = case_from(EXAMPLE["case"])
    assert case.supplier is not None
    days = lay_out(case)
    state = believed(case, walk=0.002)
    left, shares = state.left, state.shares
    out_by = left.out_by()[0]
    lead = delivery.lead_time(case.supplier)
    risk = delivery.risks(case.supplier, case.as_of, out_by)
    order = delivery.order_by(risk, "B", case.horizon_days)
    days_out = runout.quantiles(out_by[None, :401])[0]
    return {
        "prior_factor_sd": prior.ASSUMED["bottle"].factor_sd,
        "share_done": shares.done[0],
        "share_skipped": shares.skipped[0],
        "share_missing": shares.unticked[0],
        "share_variance": shares.variance[0],
        "z_2": state.z[1],
        "z_3": state.z[2],
        "log_evidence": state.log_evidence,
        "level": state.level,
        "level_sd": float(state.cov[0, 0]) ** 0.5,
        "factor": float(state.mean[1]),
        "factor_sd": float(state.cov[1, 1]) ** 0.5,
        "factor_untick": float(state.mean[2]),
        "level_factor_cov": float(state.cov[0, 1]),
        "planned_150": float(days.ahead_hand[:, :150].sum()),
        "mean_left_150": float(left.mean[0, 150]),
        "sd_left_150": float(left.variance[0, 150]) ** 0.5,
        "out_by_150": float(out_by[150]),
        "p10": days_out[1],
        "p50": days_out[9],
        "p90": days_out[17],
        "lead_median_log": lead.location,
        "lead_scale_log": lead.scale,
        "lead_at_most_5": float(lead.at_most(5.5)),
        "lead_at_most_9": float(lead.at_most(9.5)),
        "order_by": float(order),
        "risk_at_order_by": float(risk[order]),
        "risk_one_day_later": float(risk[order + 1]),
        "out_before_delivery_on_day_149": float(out_by[149]),
    }


CHECKED = [
    "prior_factor_sd", "share_done", "share_skipped", "share_missing", "share_variance",
    "z_2", "z_3", "log_evidence", "level", "level_sd", "factor", "factor_sd", "factor_untick",
    "level_factor_cov", "planned_150", "mean_left_150", "sd_left_150", "out_by_150",
    "p10", "p50", "p90", "lead_median_log", "lead_scale_log", "lead_at_most_5", "lead_at_most_9",
    "order_by", "risk_at_order_by", "risk_one_day_later", "out_before_delivery_on_day_149",
]  # fmt: skip


@pytest.mark.parametrize("figure", CHECKED)
def test_figure_of_the_worked_example(found: dict[str, float], figure: str) -> None:
    assert found[figure] == pytest.approx(EXAMPLE["expect"][figure], abs=1e-6)


def test_the_engine_gives_the_same_with_one_drift_no_sisters_and_no_bank() -> None:
    plain = Options(walks=((0.002, 1.0),), trend=None, sisters=False, bank=False)
    (found,) = project([case_from(EXAMPLE["case"])], plain)
    expect = EXAMPLE["expect"]
    ours = {
        "p10": found.quantile(0.1),
        "p50": found.quantile(0.5),
        "p90": found.quantile(0.9),
        "level": found.level,
        "level_sd": found.level_sd,
        "factor": found.factor,
        "factor_sd": found.factor_sd,
        "order_by": found.order_by,
        "risk_at_order_by": found.risk_at_order_by,
    }
    assert ours == pytest.approx({key: expect[key] for key in ours}, abs=1e-6)


def test_day_149_of_the_example_is_a_delivery_day() -> None:
    case = case_from(EXAMPLE["case"])
    assert case.supplier is not None
    day = case.as_of + timedelta(days=149)
    assert day.weekday() in case.supplier.delivery_weekdays
    assert int(delivery.arrivals(case.supplier, case.as_of, 200)[148]) == 149


def test_a_look_in_quarters_soon_after_a_weighing_is_not_used() -> None:
    case = case_from(EXAMPLE["case"])
    assert [seen.kind for seen in case.observations].count("eye") == 1
    assert len(readings(case)) == len(case.observations) - 1
