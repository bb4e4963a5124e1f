"""Makes an empty gallery's database from the models, with every migration noted as taken.

    python -m tests.faults.tables

As the tests of a group make theirs, in a fifth of the time that the steps take. The steps are held
equal to the models by .ci/run, and taken as they are in tests/deploy.
"""

from __future__ import annotations

import os
from typing import Any

import django


class NoSteps:
    """Says of every app that it has no migrations."""

    def __contains__(self, _app: str) -> bool:
        return True

    def __getitem__(self, _app: str) -> None:
        return None


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gallery_ops.settings")
    django.setup()
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connection
    from django.db.migrations.loader import MigrationLoader
    from django.db.migrations.recorder import MigrationRecorder

    steps: Any = settings.MIGRATION_MODULES
    settings.MIGRATION_MODULES = NoSteps()
    call_command("migrate", run_syncdb=True, verbosity=0)
    settings.MIGRATION_MODULES = steps
    recorder = MigrationRecorder(connection)
    recorder.ensure_schema()
    for taken, step in MigrationLoader(None).graph.nodes.items():
        for app, name in [taken, *(step.replaces if step else ())]:
            recorder.record_applied(app, name)


if __name__ == "__main__":
    main()
