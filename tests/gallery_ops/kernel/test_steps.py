"""Does a database at the last of the folded steps go on, and one in the middle get a sentence?"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError
from django.db import connection, migrations
from django.db.migrations.recorder import MigrationRecorder
from django.db.migrations.state import ProjectState

from gallery_ops.kernel import steps
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.first_tables import FirstTables
from gallery_ops.kernel.services import backups
from gallery_ops.web.management.commands import get_ready

pytestmark = pytest.mark.once
AT_THE_END = {
    "kernel": "0004_what_a_device_has_offered",
    "tanks": "0009_why_a_reading_was_corrected",
    "inventory": "0012_how_well_an_amount_is_known",
    "maintenance": "0009_stops_in_rooms",
}
"""Where a database stood before the steps were folded."""
HALF_WAY = {**AT_THE_END, "tanks": "0007_what_a_build_needs"}


@pytest.fixture(autouse=True)
def with_steps(settings: Any) -> None:
    settings.MIGRATION_MODULES = {}  # as it is outside the tests


def test_the_last_of_the_folded_steps_leads_on_and_one_before_it_does_not() -> None:
    assert set(AT_THE_END.items()) <= steps.known()
    assert steps.cannot_go_on({}) is None
    assert steps.cannot_go_on(AT_THE_END) is None
    assert steps.cannot_go_on(HALF_WAY) == "tanks 0007_what_a_build_needs"
    assert ("tanks", "0010_unheard_of") not in steps.known()


@pytest.mark.django_db
def test_a_database_half_way_is_told_which_version_to_start_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(MigrationRecorder, "applied_migrations", lambda _self: HALF_WAY.items())
    with pytest.raises(CommandError) as refused:
        get_ready._executor()
    assert "tanks 0007_what_a_build_needs" in str(refused.value)
    assert "Start the version before this one once, then this." in str(refused.value)


def test_a_backup_from_half_way_is_refused_and_one_from_the_end_is_not() -> None:
    def from_steps(stood: dict[str, str]) -> None:
        manifest = backups.Manifest(
            format=backups.FORMAT, made_at="", engine=connection.vendor, steps=stood, rows={},
            sums={},
        )  # fmt: skip
        backups._refuse_foreign(Path("old.tar.gz"), manifest)

    from_steps(AT_THE_END)
    with pytest.raises(Refused) as refused:
        from_steps(HALF_WAY)
    assert refused.value.code == "older_backup"


def test_first_tables_are_tables_only() -> None:
    class Other(FirstTables):
        operations = [migrations.RunPython(migrations.RunPython.noop)]

    with pytest.raises(TypeError):
        Other("0002_other", "kernel").apply(ProjectState(), None)
