"""A folder of cases in, a table of projections out."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from inventory.forecast.engine import project
from inventory.forecast.read import case_from

EXAMPLE = json.loads(
    (Path(__file__).parents[2] / "outside" / "forecast_worked_example.json").read_text("utf-8")
)


def a_folder(where: Path, *lines: str) -> Path:
    (where / "seen").mkdir()
    (where / "seen" / "cases.jsonl").write_text("".join(f"{line}\n" for line in lines), "utf-8")
    return where


def test_one_row_a_case_with_quantiles_order_alarm_and_factor(tmp_path: Path) -> None:
    cases = a_folder(tmp_path, json.dumps(EXAMPLE["case"]), json.dumps(EXAMPLE["pieces"]))
    out = tmp_path / "predictions.csv"
    call_command("forecast_cases", str(cases), out=out)
    rows = list(csv.DictReader(out.read_text("utf-8").splitlines()))
    bottle, pieces = project([case_from(EXAMPLE["case"]), case_from(EXAMPLE["pieces"])])
    assert [row["case_id"] for row in rows] == ["example", "pieces"]
    assert float(rows[0]["p50"]) == pytest.approx(bottle.quantile(0.5), abs=1e-6)
    assert int(rows[0]["order_by"]) == bottle.order_by
    assert rows[0]["alarm"] == "none"
    assert rows[1]["factor"] == ""
    assert float(rows[1]["p95"]) == pytest.approx(pieces.quantiles[-1], abs=1e-6)


@pytest.mark.parametrize(
    "line", ["{", '{"case_id": "k1"}', json.dumps(EXAMPLE["case"] | {"as_of": "soon"})]
)
def test_a_wrong_line_is_named(tmp_path: Path, line: str) -> None:
    cases = a_folder(tmp_path, json.dumps(EXAMPLE["case"]), line)
    with pytest.raises(CommandError, match="line 2"):
        call_command("forecast_cases", str(cases), out=tmp_path / "predictions.csv")


def test_a_folder_without_cases_is_said(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"seen/cases\.jsonl"):
        call_command("forecast_cases", str(tmp_path), out=tmp_path / "predictions.csv")
