"""Recurrence against the worked examples of the standard.

Source: RFC 5545 section 3.8.5.3 (IETF, 2009). python-dateutil expands the rules, so these rows
check what our adapter adds: UNTIL in UTC on the wall clock of the zone, left-out dates, and that
no rule of the standard is bent by the care for month ends.
"""

from __future__ import annotations

import csv
import itertools
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from maintenance.schedule.recurrence import (
    FREQUENCIES,
    PARTS,
    dates_between,
    parts_of,
    read_rule,
    walls,
)

FILE = Path(__file__).parents[2] / "outside" / "rrule_rfc5545_examples.csv"


def _rows() -> list[dict[str, str]]:
    with FILE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


ROWS = _rows()
# This example prints its UNTIL of 5 pm New York as 17:00 UTC, which is 1 pm there, and yet lists
# 3 pm: a mistake of the standard's text (a reported erratum, from memory). 21:00 UTC is 5 pm.
MISPRINTED = {"rfc5545-33a": ("UNTIL=19970902T170000Z", "UNTIL=19970902T210000Z")}
LISTED = lambda row: row["case"]  # noqa: E731


def _expected(row: dict[str, str]) -> list[datetime]:
    return [datetime.fromisoformat(text) for text in row["expected_local"].split(";")]


def test_the_file_holds_all_examples_of_the_standard() -> None:
    assert len(ROWS) == 42
    assert all(len(_expected(row)) == int(row["n_expected"]) > 0 for row in ROWS)


@pytest.mark.parametrize("row", ROWS, ids=LISTED)
def test_every_example_of_the_standard_through_our_adapter(row: dict[str, str]) -> None:
    start = datetime.fromisoformat(row["dtstart_local"])
    zone = ZoneInfo(row["tzid"])
    but = [datetime.fromisoformat(text) for text in row["exdate_local"].split(";") if text]
    rule = row["rrule"].replace(*MISPRINTED.get(row["case"], ("", "")))
    occurrences = walls(rule, start, zone, but)
    expected = _expected(row)
    if row["compare"] == "all":
        # One more than expected may be asked for: a finite rule must end.
        assert list(itertools.islice(occurrences, len(expected) + 1)) == expected
    else:
        assert row["compare"] == "prefix"
        assert list(itertools.islice(occurrences, len(expected))) == expected


def test_an_until_in_utc_is_read_on_the_wall_clock_of_the_zone() -> None:
    row = next(row for row in ROWS if row["case"] == "rfc5545-33a")
    start = datetime.fromisoformat(row["dtstart_local"])
    assert list(walls(row["rrule"], start, ZoneInfo(row["tzid"]))) == _expected(row)[:2]


def _is_task_rule(row: dict[str, str]) -> bool:
    parts = parts_of(row["rrule"])
    if parts["FREQ"] not in FREQUENCIES or set(parts) - PARTS or row["exdate_local"]:
        return False
    return not parts.get("UNTIL", "").endswith("Z")


TASK_ROWS = [row for row in ROWS if _is_task_rule(row)]


@pytest.mark.parametrize("row", TASK_ROWS, ids=LISTED)
def test_examples_by_day_or_slower_through_the_dates_of_a_task(row: dict[str, str]) -> None:
    expected = [wall.date() for wall in _expected(row)]
    start = datetime.fromisoformat(row["dtstart_local"]).date()
    found = dates_between(read_rule(row["rrule"]), start, expected[0], expected[-1])
    assert found == expected


def test_most_examples_are_task_rules() -> None:
    assert len(TASK_ROWS) == 29
