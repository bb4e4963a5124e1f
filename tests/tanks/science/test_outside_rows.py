"""Every row of the outside tables, and the account that says what each is worth."""

import pytest

from tests.tanks.science.outside_rows import (
    ACCOUNT,
    KINDS,
    TABLES,
    account,
    outcome,
    outcomes,
    rows,
)

pytestmark = pytest.mark.once

ALL_ROWS = 867


@pytest.mark.parametrize("table", TABLES)
def test_each_row_that_is_answered_is_answered_rightly(table):
    wrong = [one.wrong for one in outcomes(table) if one.wrong]
    assert wrong == []


def test_no_row_is_left_out():
    every = [row for table in TABLES for row in rows(table)]
    assert len(every) == ALL_ROWS
    assert {row["check_kind"] for row in every} == set(KINDS)


def test_the_account_is_the_one_that_is_written_down():
    assert ACCOUNT.read_text(encoding="utf-8") == account(), (
        "write it anew: python -m tests.tanks.science.outside_rows"
    )


def test_a_row_with_another_value_would_be_found():
    row = dict(rows("ammonia")[0])
    assert not outcome("ammonia", row).wrong
    assert outcome("ammonia", {**row, "expected": "0.2"}).wrong
    # 2727.92 for 2729.92 moves the second value, a printed one, out of its tolerance
    assert outcome("ammonia", {**row, "check2": "0.20"}).wrong
