"""What became of two layouts: groups that left, came and grew together, each with its version."""

from __future__ import annotations

import tomllib
from datetime import time
from pathlib import Path
from typing import Any

from gallery_ops.demo.house import House
from tanks.models import Layout, PlantGroup, Species
from tanks.services.layouts import add_plant_group, change_layout
from tanks.services.planting import change_plant_group, grow_together, replace_plant_group
from tanks.services.versions import approve_label, begin_version

FILE = Path(__file__).resolve().parent / "layouts.toml"
TOLD_AT = time(17, 40)
CHANGED_AT = time(10, 15)


def live_on(house: House) -> None:
    """Stories told on building day, then each step of each layout, approved by its designer."""
    for row in tomllib.loads(FILE.read_text("utf-8"))["change"]:
        layout = house.layouts[row["code"]]
        boss, day = house.people["maud"], house.day_of[row["code"]]
        told_at = house.at(day, TOLD_AT)
        change_layout(layout=layout, by=boss, at=told_at, **row["story"])
        for kept in row.get("kept", []):
            words = {name: value for name, value in kept.items() if name != "number"}
            group = _group(layout, kept["number"])
            change_plant_group(group=group, by=boss, at=told_at, **words)
        _approved(house, layout, day)
        for step in row["step"]:
            _step(house, layout, step)


def _step(house: House, layout: Layout, step: dict[str, Any]) -> None:
    who: dict[str, Any] = {"by": house.people["maud"], "at": house.at(step["day"], CHANGED_AT)}
    if "together" in step:
        groups = [_group(layout, number) for number in step["together"]]
        grow_together(groups=groups, **who)
    elif "replaces" in step:
        replace_plant_group(
            group=_group(layout, step["replaces"]),
            species=[_species(name) for name in step["species"]],
            planted_count=step["count"],
            trimming=step["trimming"],
            provenance=step["provenance"],
            **who,
        )
    else:
        add_plant_group(
            layout=layout,
            species=[_species(step["adds"])],
            number=max(layout.plant_groups.values_list("number", flat=True)) + 1,
            place="moss",
            centre_permille=620,
            spread_permille=120,
            height_mm=20,
            planted_count=step["count"],
            planted_as="cup",
            fixing="line",
            leaf_colour="dark_green",
            trimming="combed, a third off",
            provenance=step["provenance"],
            **who,
        )
    begin_version(layout=layout, kind=step["kind"], reason=step["reason"], **who)
    _approved(house, layout, step["day"])


def _approved(house: House, layout: Layout, day: int) -> None:
    designer = layout.designer
    approve_label(
        layout=layout,
        approved_by=designer.name if designer is not None else "Maud Ellerkamp",
        approved_on=house.at(day).date(),
        by=house.people["maud"],
        at=house.at(day, time(18)),
    )


def _group(layout: Layout, number: int) -> PlantGroup:
    return PlantGroup.objects.get(layout=layout, number=number, to_at=None)


def _species(name: str) -> Species:
    return Species.objects.get(scientific_name=name)
