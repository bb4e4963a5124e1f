"""What did the designer approve for the public, and does the layout still stand like that?

A version keeps the words and parts of its label as they were on the day of approval. What visitors
read is the newest of these; a layout that was never frozen is read as it stands.
"""

from __future__ import annotations

import copy
from datetime import date, datetime
from typing import Any

from tanks.models import Hardscape, Layout, LayoutVersion, PlantGroup, Species, SubstrateLayer

TEXTS = (
    "title",
    "story",
    "inspiration",
    "went_wrong",
    "difficulty",
    "has_co2",
    "profile",
    "inspired_by",
    "reference",
    "made_different",
)
GROUP = (
    "id",
    "number",
    "place",
    "centre_permille",
    "spread_permille",
    "height_mm",
    "fixing",
    "leaf_colour",
    "provenance",
)
PIECE = ("kind", "name", "centre_permille", "length_mm", "height_mm", "mass_in_mg")
LAYER = ("order", "material", "front_mm", "back_mm")


def label_text(layout: Layout, at: datetime) -> dict[str, Any]:
    """Everything of a layout that a label or a visitor's page tells, as plain values.

    The layout comes with its designer, groups with species, hardscape and ground.
    """
    groups = sorted(layout.plant_groups.all(), key=lambda row: (row.number, row.pk))
    return {
        "texts": {name: getattr(layout, name) for name in TEXTS},
        "flooded_on": layout.flooded_on.isoformat() if layout.flooded_on else None,
        "designer": layout.designer.name if layout.designer else "",
        "groups": [
            {name: getattr(row, name) for name in GROUP}
            | {
                "species": sorted(
                    [one.scientific_name, one.vernacular_name] for one in row.species.all()
                )
            }
            for row in groups
            if _holds(row, at)
        ],
        "hardscape": [
            {name: getattr(row, name) for name in PIECE}
            for row in sorted(layout.hardscape.all(), key=lambda row: row.pk)
            if _holds(row, at)
        ],
        "ground": [
            {name: getattr(row, name) for name in LAYER}
            for row in sorted(layout.substrate_layers.all(), key=lambda row: row.order)
        ],
    }


def last_approved(layout: Layout, at: datetime) -> LayoutVersion | None:
    """The newest version with a frozen label; ``layout`` comes with its versions."""
    frozen = [row for row in layout.versions.all() if row.frozen_label and row.from_at <= at]
    return max(frozen, key=lambda row: (row.from_at, row.pk), default=None)


def as_approved(layout: Layout, at: datetime) -> Layout:
    """A copy of the layout that says what its newest label says; for reading, never saved.

    A layout that is not shown to visitors is told as it stands.
    """
    version = last_approved(layout, at)
    if version is None or version.frozen_label is None or layout.published_at is None:
        return layout
    label = version.frozen_label["label"]
    shown = copy.copy(layout)
    for name, value in label["texts"].items():
        setattr(shown, name, value)
    flooded = label["flooded_on"]
    shown.flooded_on = date.fromisoformat(flooded) if flooded else None
    shown._state = copy.copy(layout._state)
    shown._state.fields_cache = {**layout._state.fields_cache}
    if layout.designer is not None and layout.designer.name != label["designer"]:
        designer = copy.copy(layout.designer)
        designer.name = label["designer"]
        shown._state.fields_cache["designer"] = designer
    as_it_was = LayoutVersion(
        layout_id=layout.pk, major=version.major, minor=version.minor, from_at=layout.from_at
    )
    shown._prefetched_objects_cache = {  # type: ignore[attr-defined]
        "versions": [as_it_was],
        "plant_groups": [_group(row, layout) for row in label["groups"]],
        "hardscape": [
            Hardscape(pk=n, layout_id=layout.pk, from_at=layout.from_at, **row)
            for n, row in enumerate(label["hardscape"], 1)
        ],
        "substrate_layers": [SubstrateLayer(layout_id=layout.pk, **row) for row in label["ground"]],
    }
    return shown


def changed_since(layout: Layout, at: datetime) -> list[str]:
    """Which parts of its label no longer say what was approved; empty when it stands as approved.

    Names of :data:`TEXTS`, and ``designer``, ``flooded_on``, ``groups``, ``hardscape``, ``ground``.
    """
    version = last_approved(layout, at)
    if version is None or version.frozen_label is None:
        return []
    told, now = version.frozen_label["label"], label_text(layout, at)
    parts = ("designer", "flooded_on", "hardscape", "ground")
    found = [name for name in TEXTS if told["texts"].get(name) != now["texts"][name]]
    found += [name for name in parts if told[name] != now[name]]
    return found + (["groups"] if _bare(told["groups"]) != _bare(now["groups"]) else [])


def _bare(groups: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Without keys: a group written anew with the same words is the same to a reader."""
    return [{name: value for name, value in row.items() if name != "id"} for row in groups]


def _group(row: dict[str, Any], layout: Layout) -> PlantGroup:
    fields = {name: row[name] for name in GROUP}
    group = PlantGroup(layout_id=layout.pk, from_at=layout.from_at, **fields)
    group._prefetched_objects_cache = {  # type: ignore[attr-defined]
        "species": [
            Species(scientific_name=scientific, vernacular_name=common)
            for scientific, common in row["species"]
        ]
    }
    return group


def _holds(row: Any, at: datetime) -> bool:
    return bool(row.from_at <= at and (row.to_at is None or at < row.to_at))
