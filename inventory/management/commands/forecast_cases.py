"""Project a file of invented cases, so that the forecast can be scored against what happened.

    python manage.py forecast_cases CASES_DIR --out predictions.csv

Reads CASES_DIR/seen/cases.jsonl, one case a line, and writes one row a case.
"""

from __future__ import annotations

import csv
import json
from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from inventory.forecast.engine import project
from inventory.forecast.read import case_from
from inventory.forecast.types import HORIZON_DAYS, LEVELS, Case, Projection

COLUMNS = ("case_id", *(f"p{round(100 * level):02d}" for level in LEVELS))


class Command(BaseCommand):
    help = "Project every case of a folder and write the quantiles of its run-out."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("cases_dir", type=Path)
        parser.add_argument("--out", type=Path, required=True)

    def handle(self, *args: Any, **options: Any) -> None:
        cases = list(_cases(options["cases_dir"] / "seen" / "cases.jsonl"))
        try:
            found = project(cases)
        except ValueError as trouble:
            raise CommandError(f"A case contradicts itself: {trouble}") from trouble
        with options["out"].open("w", encoding="utf-8", newline="") as out:
            writer = csv.writer(out)
            writer.writerow((*COLUMNS, "order_by", "alarm", "factor"))
            writer.writerows(_row(one) for one in found)
        self.stdout.write(f"{len(found)} cases projected into {options['out']}")


def _cases(path: Path) -> Iterator[Case]:
    if not path.is_file():
        raise CommandError(f"{path} is not there: give the folder that holds seen/cases.jsonl.")
    with path.open(encoding="utf-8") as lines:
        for number, line in enumerate(lines, start=1):
            try:
                yield case_from(json.loads(line))
            except (KeyError, TypeError, ValueError) as trouble:
                raise CommandError(f"{path}, line {number}: {trouble!r}") from trouble


def _row(one: Projection) -> tuple[str | float | int, ...]:
    return (
        one.case_id,
        *(round(day, 6) for day in one.quantiles),
        HORIZON_DAYS if one.order_by is None else one.order_by,
        one.alarm,
        "" if one.factor is None else round(one.factor, 9),
    )
