"""Figures of the fleet of twenty tanks against sums made outside the program.

Sources: tests/outside/demo_fleet.csv (invented fleet), tests/outside/job_check_values.json rows V5,
V6, D5, D6, D8, C3, C4, C5, F1: calculated from that fleet; rates common practice, no source.
"""

from __future__ import annotations

import csv
import json
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from gallery_ops.kernel.values.quantity import Mass, Volume
from gallery_ops.overview.figures import figures, figures_on
from inventory.services.plans import PlanLine
from tanks.services.placements import add_tank
from tanks.services.places import add_position
from tests.inventory.projections.world import NOW, TODAY, World, a_world

pytestmark = pytest.mark.django_db

OUTSIDE = Path(__file__).parents[2] / "outside"
FLEET = list(csv.DictReader((OUTSIDE / "demo_fleet.csv").read_text("utf-8").splitlines()))
ROWS = {r["id"]: r for r in json.loads((OUTSIDE / "job_check_values.json").read_text("utf-8"))}


def the_fleet(code: str = "undershore") -> World:
    world = a_world(days=2, tanks=0, code=code)
    carbon = world.item("carbon", "fertiliser", "volume", full_dose_ul_per_l=50)
    gas = world.item("gas", "gas", "mass")
    food = world.item("granules", "food", "mass")
    world.bottle(carbon)
    world.stored(carbon, "can", Volume.l(5), count=2)
    for n, row in enumerate(FLEET, start=1):
        place = add_position(
            room=world.room,
            zone=world.zone,
            name=row["code"],
            walking_order=n,
            by=world.by,
            at=world.begins,
        )
        length, width, height = (int(side) * 10 for side in row["dims_cm"].split("x"))
        tank = add_tank(
            showroom=world.showroom,
            code=row["code"],
            length_mm=length,
            width_mm=width,
            height_mm=height,
            glass_mm=int(row["glass_mm"]),
            by=world.by,
            at=world.begins,
            position=place,
        )
        world.tanks.append(tank)
        if float(row["dose_ml_day"]):
            world.plan(carbon, "dose", PlanLine(Volume.ml(row["dose_ml_day"])), tanks=[tank])
        if float(row["co2_g_day"]):
            world.plan(gas, "gas", PlanLine(Mass.g(row["co2_g_day"]), means="valve"), tanks=[tank])
            world.cylinder(gas, tank, fill_g=int(row["cyl_g"]), serial=row["code"])
        if float(row["food_g_day"]):
            line = PlanLine(Mass.g(row["food_g_day"]), weekdays="1111110")
            world.plan(food, "food", line, tanks=[tank])
    return world


def check(found: dict[str, Any], key: str, row_id: str) -> None:
    row = ROWS[row_id]
    assert found[key] == pytest.approx(row["expect"], rel=max(row["rel_tol"], 1e-9), abs=0), key


def test_figures_of_the_fleet_of_twenty() -> None:
    found = figures(the_fleet().showroom, NOW).as_dict()
    assert found["tanks"] == 20
    check(found, "outer_volume_l", "V5")
    check(found, "working_volume_l", "V6")
    check(found, "dose_ml_per_day", "D5")
    check(found, "dose_ml_per_day_all_full", "D6")
    check(found, "co2_g_per_day", "C3")
    check(found, "co2_kg_per_quarter", "C4")
    check(found, "cylinder_changes_per_quarter", "C5")
    check(found, "food_g_per_feeding_day", "F1")
    assert found["dosed_tanks"] == 18
    assert found["gassed_tanks"] == 18
    assert found["feeding_days_per_week"] == 6
    carbon = next(item for item in found["items"] if item["code"] == "carbon")
    assert carbon["largest_whole_days"] == ROWS["D8"]["expect"]
    assert carbon["held"] == 11_000
    assert carbon["whole_days"] == 56  # 11,000 mL / 196 mL, by hand


def test_figures_of_a_day_before_the_plans_are_those_of_that_day() -> None:
    world = the_fleet()
    before = figures_on(world.showroom, world.start.replace(year=2025))
    assert before.tanks == 0
    assert before.use.dose_ml_per_day == 0
    assert figures_on(world.showroom, TODAY).use.dose_ml_per_day == 196


def test_what_was_held_on_a_day_in_the_past_is_what_stood_then() -> None:
    world = a_world(days=5)
    carbon = world.item("carbon", "fertiliser", "volume")
    world.bottle(carbon)
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.dose_days(carbon, world.days())
    noon_of_the_second_day = figures_on(world.showroom, world.start + timedelta(days=1))
    assert noon_of_the_second_day.use.items[0].held == 1000 - 2 * 6
    assert figures(world.showroom, NOW).use.items[0].held == 1000 - 5 * 6


def run(**options: Any) -> str:
    out = StringIO()
    call_command("show_figures", stdout=out, **options)
    return out.getvalue()


def test_the_command_prints_a_table_or_json() -> None:
    the_fleet()
    found = json.loads(run(json=True, on="2026-03-12"))
    assert {
        "tanks", "outer_volume_l", "working_volume_l", "dose_ml_per_day",
        "dose_ml_per_day_all_full", "co2_g_per_day", "food_g_per_feeding_day",
    } <= set(found)  # fmt: skip
    assert found["on"] == "2026-03-12"
    assert found["dose_ml_per_day"] == 196
    assert "196" in run(on="2026-03-12")


def test_the_command_says_what_is_wrong() -> None:
    with pytest.raises(CommandError, match="no showroom yet"):
        run()
    a_world(days=2)
    with pytest.raises(CommandError, match="2026-03-12"):
        run(on="12.3.2026")
    with pytest.raises(CommandError, match="none of undershore"):
        run(showroom="elsewhere")
    a_world(days=2, code="elsewhere")
    with pytest.raises(CommandError, match="Choose with --showroom"):
        run()
