"""How do the shipped catalogues get into the database without undoing what a person changed?

A catalogue is a TOML file of tables. Shared rows (parameters, species) follow the file: what a
gallery wants otherwise stands in rows of its own, which no catalogue touches. Rows of a showroom
(task templates) are only added: one that is there was taken over or changed by a person, and stays.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import models, transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.services.checking import check_row


@dataclass(frozen=True, slots=True)
class Loaded:
    """How many rows were added, brought up to date, and left as they are."""

    added: int
    updated: int
    kept: int


def read_catalogue(path: Path, table: str) -> list[dict[str, Any]]:
    """The entries ``[[table]]`` of a TOML file. Raises Refused for a broken file."""
    try:
        with path.open("rb") as file:
            whole = tomllib.load(file)
    except OSError as error:
        raise Refused(
            "catalogue_missing", f"{path.name} cannot be read: {error.strerror}."
        ) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise Refused("catalogue_broken", f"{path.name} is not valid TOML: {error}.") from None
    entries = whole.get(table)
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        raise Refused("catalogue_broken", f"{path.name} has no list [[{table}]].")
    return entries


def load_rows(
    model: type[models.Model],
    entries: Iterable[Mapping[str, Any]],
    *,
    key: Sequence[str],
    keep_existing: bool,
    fixed: Mapping[str, Any] | None = None,
) -> Loaded:
    """Make rows of a table from entries of a catalogue. Running it again changes nothing more.

    Parameters
    ----------
    key : fields by which an entry finds its row
    keep_existing : True leaves every row alone that is there (rows of a showroom); False brings it
    up
        to date (shared rows)
    fixed : values for every row, such as ``{"showroom": showroom}``

    Raises Refused, naming the entry, when a row would not be valid; then nothing is changed.
    """
    added = updated = kept = 0
    with transaction.atomic():
        known = _by_key(model, key, fixed or {})
        for entry in entries:
            values = {**(fixed or {}), **entry}
            name = tuple(values.get(field) for field in key)
            row = known.get(name)
            if row is None:
                row = known[name] = model(**_known_fields(model, values, name))
                _check(row, name)
                row.save()
                added += 1
            elif keep_existing or not _differing(row, values):
                kept += 1
            else:
                for field in _differing(row, values):
                    setattr(row, field, values[field])
                _check(row, name)
                row.save()
                updated += 1
    return Loaded(added, updated, kept)


def _by_key(
    model: type[models.Model], key: Sequence[str], fixed: Mapping[str, Any]
) -> dict[tuple[Any, ...], models.Model]:
    rows = model._default_manager.filter(**fixed).order_by("pk")
    return {tuple(getattr(row, field) for field in key): row for row in rows}


def _differing(row: models.Model, values: Mapping[str, Any]) -> list[str]:
    return [field for field, value in values.items() if getattr(row, field) != value]


def _known_fields(
    model: type[models.Model], values: Mapping[str, Any], name: tuple[Any, ...]
) -> Mapping[str, Any]:
    strange = set(values) - {field.name for field in model._meta.get_fields()}
    if strange:
        raise Refused(
            "catalogue_broken", f"{_shown(name)}: unknown field {', '.join(sorted(strange))}."
        )
    return values


def _check(row: models.Model, name: tuple[Any, ...]) -> None:
    try:
        check_row(row)
    except Refused as error:
        raise Refused(
            "catalogue_broken", f"{_shown(name)}: {error.sentence}", error.fields
        ) from None


def _shown(name: tuple[Any, ...]) -> str:
    return " ".join(str(part) for part in name)
