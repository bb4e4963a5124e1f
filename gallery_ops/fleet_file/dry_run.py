"""Read a list and hold it against the gallery: the one way in, for page and command alike."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from gallery_ops.fleet_file.plan import FleetPlan, make_plan
from gallery_ops.fleet_file.read import read_fleet
from gallery_ops.fleet_file.standing import Standing, standing
from gallery_ops.kernel.models import Showroom


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a person said about a file that it does not say itself."""

    sheet: str = ""
    separator: str = ""
    length_unit: str = ""
    meanings: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DryRun:
    """What a list would do, and what it was held against."""

    plan: FleetPlan
    now: Standing


def file_hash(content: bytes) -> str:
    """By what a file is known again."""
    return hashlib.sha256(content).hexdigest()


def dry_run(showroom: Showroom, content: bytes, at: datetime, wishes: Wishes) -> DryRun:
    """What this file would do at this moment; nothing is written. Raises NotReadable."""
    file = read_fleet(
        content,
        sheet=wishes.sheet,
        separator=wishes.separator,
        length_unit=wishes.length_unit,
        meanings=wishes.meanings,
    )
    now = standing(showroom, at)
    return DryRun(make_plan(showroom, file, file_hash(content), now), now)
