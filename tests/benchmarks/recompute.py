"""What does one tick cost with 20 and with 2,000 containers of one item? And the night?

    python -m tests.benchmarks.recompute [--rounds 15] [--days 60]

Every tank has a bottle of its own, all of one item, ticked daily and weighed weekly for so many
days. Small and large are measured in turns, so that a busy machine slows both; ratios are judged,
never milliseconds. Ends with 1 when a limit is missed.
"""

from __future__ import annotations

import argparse
import gc
import os
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from statistics import median
from typing import TYPE_CHECKING, Any

import django

if TYPE_CHECKING:
    from tests.builders.fleet import Fleet

FEW, MANY = 20, 2_000
LIMIT = 1.5
DAILY_UL = 3_000


def main() -> int:
    """Prepare a database, measure, tell."""
    asked = argparse.ArgumentParser(prog="python -m tests.benchmarks.recompute")
    asked.add_argument("--rounds", type=int, default=15, help="how many ticks on each side")
    asked.add_argument("--days", type=int, default=60, help="days of history")
    given = asked.parse_args()
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    django.setup()
    from django.test.runner import DiscoverRunner
    from django.test.utils import setup_test_environment

    setup_test_environment(debug=False)
    runner = DiscoverRunner(verbosity=0, interactive=False)
    databases = runner.setup_databases()
    try:
        lines, missed = measure(given.rounds, given.days)
    finally:
        runner.teardown_databases(databases)
    print("\n".join(lines))
    return int(missed)


@dataclass(frozen=True, slots=True)
class Side:
    """A gallery of some size and the bottle of each of its tanks."""

    fleet: Fleet
    bottles: list[Any]
    night_s: float


def measure(rounds: int, days: int) -> tuple[list[str], bool]:
    """A table, and whether a limit was missed."""
    few, many = (_side(count, name, days) for count, name in ((FEW, "few"), (MANY, "many")))
    rows = [
        ("one tick to both projections stored", _refresh, True),
        ("one tick: the whole job, with its line of the stock page", _job, False),
    ]
    out = [
        f"Load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores. Medians, ms.",
        "",
        "| what | 20 | 2,000 | ratio | limit | |",
        "|---|---|---|---|---|---|",
    ]
    missed = False
    for name, deed, judged in rows:
        small, large = _in_turns(rounds, deed, few, many)
        ratio = large / small
        verdict = ("MISSED" if ratio > LIMIT else "held") if judged else "not judged"
        missed |= judged and ratio > LIMIT
        limit = f"{LIMIT:g}x" if judged else ""
        out.append(f"| {name} | {small:.1f} | {large:.1f} | {ratio:.2f}x | {limit} | {verdict} |")
    night = many.night_s / few.night_s
    out += [
        f"| the night, everything anew, s | {few.night_s:.2f} | {many.night_s:.2f} | {night:.1f}x "
        "| | not judged |",
        "",
        f"Largest memory of the process: {_peak_mib():.0f} MiB.",
    ]
    return out, missed


def _side(count: int, name: str, days: int) -> Side:
    from inventory.services.forecasts import refresh_items
    from tests.builders.fleet import AT, a_fleet

    fleet = a_fleet(count, name, with_work=False)
    bottles = _with_history(fleet, days)
    gc.collect()
    began = time.perf_counter()
    refresh_items(showroom=fleet.showroom, at=AT, item_ids=None)
    return Side(fleet, bottles, time.perf_counter() - began)


def _with_history(fleet: Fleet, days: int) -> list[Any]:
    """Each bottle ticked every day and weighed every seventh, in bulk; 2 % more or less goes."""
    from inventory.models import Container, Forecast, Movement, Scale, Use, Weighing
    from tests.builders.fleet import AT, ON

    showroom, person = fleet.showroom, fleet.owner.person
    Forecast.objects.of(showroom).update(is_current=False)
    bottles = list(
        Container.objects.of(showroom)
        .filter(kind="bottle", supplies__tank__isnull=False)
        .select_related("item")
        .order_by("pk")
    )
    tanks = dict(
        Container.objects.filter(pk__in=[b.pk for b in bottles]).values_list(
            "pk", "supplies__tank_id"
        )
    )
    scale = Scale.objects.create(
        showroom=showroom, name="bench", noise_sd_mg=500, resolution_mg=1000
    )

    def said(days_ago: int, hour: int) -> dict[str, Any]:
        at = (AT - timedelta(days=days_ago)).replace(hour=hour, minute=0)
        stamps = dict.fromkeys(("done_at", "done_at_corrected", "entered_at"), at)
        return {"showroom": showroom, "person": person, **stamps}

    for days_ago in range(days, 0, -1):
        day = ON - timedelta(days=days_ago)
        uses = Use.objects.bulk_create(
            Use(
                **said(days_ago, 9), tank_id=tanks[bottle.pk], item=bottle.item, purpose="dose",
                container=bottle, business_on=day, planned_base=DAILY_UL, given_base=DAILY_UL,
            )
            for bottle in bottles
        )  # fmt: skip
        Movement.objects.bulk_create(
            Movement(
                **said(days_ago, 9), item_id=use.item_id, container_id=use.container_id,
                kind="use", amount_base=-DAILY_UL, use=use,
            )
            for use in uses
        )  # fmt: skip
        if days_ago % 7 == 0:
            done = days - days_ago + 1
            Weighing.objects.bulk_create(
                Weighing(
                    **said(days_ago, 18), container=bottle, scale=scale, tare_mg=50_000,
                    gross_mg=50_000 + _left(bottle, n, done), net_base=_left(bottle, n, done),
                    expected_base=bottle.capacity_base - done * DAILY_UL,
                )
                for n, bottle in enumerate(bottles)
            )  # fmt: skip
    return bottles


def _left(bottle: Any, n: int, done: int) -> int:
    return int(bottle.capacity_base - done * DAILY_UL * (0.98 + 0.04 * (n % 11) / 10))


def _tick(side: Side, turn: int) -> tuple[Any, Any]:
    """A dose of one tank, by the service that a tablet's tap ends in; the bottle and the moment."""
    from inventory.services.use import use_dose
    from tests.builders.fleet import AT

    n = turn % len(side.bottles)
    bottle, at = side.bottles[n], AT + timedelta(minutes=turn + 1)
    from gallery_ops.kernel.values.quantity import Volume

    use_dose(
        tank=bottle.supplies.get().tank, item=bottle.item, given=Volume(DAILY_UL),
        container=bottle, by=side.fleet.owner, at=at,
    )  # fmt: skip
    return bottle, at


def _refresh(side: Side, turn: int) -> Callable[[], None]:
    from inventory.services.forecasts import refresh

    bottle, at = _tick(side, turn)

    def deed() -> None:
        done = refresh(showroom=side.fleet.showroom, at=at, subject=f"container:{bottle.pk}")
        if len(done.keys) != 2:
            raise RuntimeError(f"{len(done.keys)} projections after one tick, not two.")

    return deed


def _job(side: Side, turn: int) -> Callable[[], None]:
    from inventory.jobs import forecast

    bottle, at = _tick(side, 1_000 + turn)
    return lambda: forecast(side.fleet.showroom, f"container:{bottle.pk}", at)


def _in_turns(
    rounds: int, deed: Callable[[Side, int], Callable[[], None]], few: Side, many: Side
) -> tuple[float, float]:
    """Median time of each [ms]; the first turn only warms up. The tick itself is not counted."""
    seen: dict[int, list[float]] = {0: [], 1: []}
    for turn in range(rounds + 1):
        for which, side in enumerate((few, many)):
            made = deed(side, turn)
            began = time.perf_counter()
            made()
            if turn:
                seen[which].append(1_000 * (time.perf_counter() - began))
    return median(seen[0]), median(seen[1])


def _peak_mib() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    sys.exit(main())
