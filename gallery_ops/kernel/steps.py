"""Which steps of the database does this program know, and does one stand where none leads on?

The first steps of each room are folded into one (see first_tables.py), which names those that it
stands for. A database at the last of them goes on; one in the middle needs the version before.
"""

from __future__ import annotations

from collections.abc import Mapping

from django.apps import apps
from django.db import connection
from django.db.migrations import Migration
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

Step = tuple[str, str]
"""App and name."""


def known() -> set[Step]:
    """Every step that this program can take, and those that are folded into one of them."""
    found = _on_disk()
    return set(found) | {folded for step in found.values() for folded in step.replaces}


def last_steps() -> dict[str, str]:
    """The last step that this database took, of each of our rooms.

    Raises DatabaseError when it cannot be read.
    """
    ours = {config.label for config in apps.get_app_configs() if not _is_django(config.name)}
    taken = sorted(MigrationRecorder(connection).applied_migrations())
    return {app: name for app, name in taken if app in ours}


def cannot_go_on(stands: Mapping[str, str]) -> str | None:
    """The step in the middle of folded ones at which a database stands; None when it can go on."""
    for step in _on_disk().values():
        folded = [name for app, name in step.replaces if app == step.app_label]
        if stands.get(step.app_label) in folded[:-1]:
            return f"{step.app_label} {stands[step.app_label]}"
    return None


def _on_disk() -> dict[Step, Migration]:
    return MigrationLoader(None).disk_migrations or {}


def _is_django(name: str) -> bool:
    return name.startswith("django.")
