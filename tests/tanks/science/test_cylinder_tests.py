"""Is the next test only ever set by a rule that somebody named?"""

import csv
from datetime import date
from pathlib import Path

import pytest

from gallery_ops.kernel.values.limits import OutOfRange
from tanks.science.cylinder_tests import RULES, next_test

pytestmark = pytest.mark.once

# Source: tests/outside/cylinder_inspection.csv; the ADR row is from memory and says so.
TABLE = Path(__file__).parents[2] / "outside" / "cylinder_inspection.csv"
ROWS = list(csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines()))
RULE_OF = {
    "DOT-3AL in CO2 service": "us_3al_co2",
    "DOT-3A/3AA": "us_3a_3aa",
    "ADR cylinder, UN 1013 CO2": "adr_co2",
    "DOT spec cylinders": None,
}
"""The last is a filling density: it is no rule about tests (see test_outside_rows)."""


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["cylinder_type"])
def test_each_rule_has_the_years_of_its_row(row):
    key = RULE_OF[row["cylinder_type"]]
    if key is None:
        assert row["unit"] == "%"
        return
    years = float(row["expected"])
    assert RULES[key].years == years
    assert next_test(date(2021, 5, 1), key) == date(2021 + int(years), 5, 1)
    assert ("memory" in RULES[key].source) == (row["provenance"] == "memory")


def test_every_rule_has_a_row_outside_and_every_row_a_rule():
    assert {key for key in RULE_OF.values() if key} == set(RULES)
    assert {row["cylinder_type"] for row in ROWS} == set(RULE_OF)


def test_the_29th_of_february_counts_to_the_28th():
    assert next_test(date(2024, 2, 29), "us_3a_3aa") == date(2029, 2, 28)


@pytest.mark.parametrize("rule", ["", "ten years", "typed"])
def test_there_is_no_default(rule):
    with pytest.raises(OutOfRange, match="the stamp says"):
        next_test(date(2021, 5, 1), rule)
