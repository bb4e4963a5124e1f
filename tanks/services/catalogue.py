"""Parameters and species as they ship: catalogue files made rows, once and again."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from django.db import transaction

from tanks.models import Parameter, Species

FOLDER = Path(__file__).resolve().parent.parent / "catalogue"


@transaction.atomic
def load_parameters() -> int:
    """Rows for every entry of ``parameters.toml``; gives their number. Overrides are other rows."""
    entries = _read("parameters.toml")["parameter"]
    for order, entry in enumerate(entries):
        key = entry.pop("key")
        Parameter.objects.update_or_create(key=key, defaults={"order": order, **entry})
    return len(entries)


@transaction.atomic
def load_species() -> int:
    """Rows for every entry of ``species.toml`` that is not known yet; gives their number."""
    entries = _read("species.toml")["species"]
    for entry in entries:
        name = entry.pop("scientific_name")
        Species.objects.get_or_create(scientific_name=name, defaults=entry)
    return len(entries)


def _read(name: str) -> dict[str, Any]:
    with (FOLDER / name).open("rb") as file:
        return tomllib.load(file)
