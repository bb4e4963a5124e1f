"""Is everything in place for the pages to open? Tables, files, and a gallery to look at.

deploy/start runs this before it starts web, worker and beat. What is done already costs nothing.
"""

from __future__ import annotations

import hashlib
import time
from argparse import ArgumentParser
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.management import call_command, get_commands
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from gallery_ops.kernel import steps
from gallery_ops.web.door_page import write_door_page

STAMP = "static.sha256"


class Command(BaseCommand):
    help = "Bring tables and files up to date; load the demo gallery when there is no showroom."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--empty", action="store_true", help="load no demo gallery")

    def handle(self, *args: Any, empty: bool = False, **options: Any) -> None:
        executor = _executor()
        _refuse_newer(executor)
        self._migrate(executor)
        self._collect()
        write_door_page()
        if _has_showroom():
            return
        if empty:
            self._say("There is no showroom yet: the first page makes it and its owner.")
        else:
            self._load_demo()

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()

    def _migrate(self, executor: MigrationExecutor) -> None:
        plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
        if not plan:
            return
        self._say(f"Bringing the database up to date ({len(plan)} steps) ...")
        began = time.monotonic()
        call_command("migrate", interactive=False, verbosity=0)
        self._say(f"The database is up to date ({time.monotonic() - began:.0f} s).")

    def _collect(self) -> None:
        stamp = Path(settings.STATIC_ROOT) / STAMP
        wanted = _files_hash()
        if stamp.exists() and stamp.read_text() == wanted:
            return
        self._say("Preparing pictures, styles and scripts ...")
        self.check()  # a new version: no start after this one, and no worker, asks again
        call_command("collectstatic", interactive=False, verbosity=0)
        stamp.write_text(wanted)

    def _load_demo(self) -> None:
        if "load_demo" not in get_commands():
            raise CommandError("The demo gallery is not part of this copy. Start with --empty.")
        self._say("Loading the demo gallery: ninety days of Undershore, up to a minute ...")
        began = time.monotonic()
        call_command("load_demo", stdout=self.stdout, stderr=self.stderr)
        self._say(f"The demo gallery is loaded ({time.monotonic() - began:.0f} s).")


def _executor() -> MigrationExecutor:
    try:
        _refuse_much_older(steps.last_steps())
        return MigrationExecutor(connection)
    except DatabaseError as trouble:
        if connection.vendor == "sqlite":
            raise CommandError(
                f"The database file {connection.settings_dict['NAME']} cannot be read "
                f"({str(trouble).strip()}). Restore a backup in its place, or choose another "
                "folder with --data DIR."
            ) from None
        raise CommandError(
            f"The database named in DATABASE_URL does not answer ({str(trouble).strip()}). "
            "Check that it runs and that host, port, name, user and password are right."
        ) from None


def _refuse_newer(executor: MigrationExecutor) -> None:
    """A database that knows steps which this program does not was written by a newer version."""
    ours = {config.label for config in apps.get_app_configs() if _is_ours(config.name)}
    known = steps.known()
    unknown = sorted(
        f"{app} {name}"
        for app, name in executor.loader.applied_migrations
        if app in ours and (app, name) not in known
    )
    if unknown:
        raise CommandError(
            f"The database was written by a newer version of Gallery Ops ({unknown[-1]} is not "
            "known here). Start that version again, or restore the backup made before it."
        )


def _refuse_much_older(stands: Mapping[str, str]) -> None:
    if older := steps.cannot_go_on(stands):
        raise CommandError(
            f"The database was last used with an older version of Gallery Ops ({older}), and this "
            "one does not lead on from there. Start the version before this one once, then this. "
            "Nothing was changed."
        )


def _is_ours(name: str) -> bool:
    return name.split(".")[0] in {"gallery_ops", "tanks", "inventory", "maintenance"}


def _has_showroom() -> bool:
    return apps.get_model("kernel", "Showroom")._default_manager.exists()


def _files_hash() -> str:
    """Hash of every file that would be collected and of the list of installed packages."""
    base = Path(settings.BASE_DIR)
    files = sorted(path for path in base.glob("gallery_ops/*/static/**/*") if path.is_file())
    sum_ = hashlib.sha256((base / "requirements.txt").read_bytes())
    for path in files:
        sum_.update(str(path.relative_to(base)).encode())
        sum_.update(path.read_bytes())
    return sum_.hexdigest()
