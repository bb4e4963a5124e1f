"""Put a backup in place of what is here. The gallery must stand still.

For example: `manage.py restore backups/gallery-20260311T210000Z.tar.gz --replace`.
"""

from __future__ import annotations

import fcntl
import shutil
import tempfile
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError

from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import GalleryError
from gallery_ops.kernel.queries.people import has_showroom
from gallery_ops.kernel.services import database_file
from gallery_ops.kernel.services.backups import read_manifest, unpack
from gallery_ops.kernel.services.people import renew_epoch


class Command(BaseCommand):
    help = "Put a backup in place of this gallery; what was here is kept aside."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="a file written by back_up")
        parser.add_argument(
            "--replace", action="store_true", help="there is a gallery here: set it aside"
        )

    def handle(self, *args: Any, file: Path, replace: bool = False, **options: Any) -> None:
        data = Path(settings.DATA_DIR)
        at = clock.now()
        aside = data / f"before-restore-{at:%Y%m%dT%H%M%SZ}"
        with _standing_still(data):
            if not replace and _has_gallery():
                raise CommandError(
                    "There is a gallery here. With --replace it is set aside and the backup takes "
                    "its place."
                )
            try:
                manifest = read_manifest(file)
                with tempfile.TemporaryDirectory(dir=data, prefix=".restore.") as scratch:
                    unpack(file, manifest, Path(scratch))
                    aside.mkdir(mode=0o700)
                    database_file.put_in(Path(scratch) / database_file.NAME, aside / "database")
                    _put_files(Path(scratch) / "media", aside / "media")
                call_command("migrate", interactive=False, verbosity=0)
                renew_epoch(at=at)
            except GalleryError as error:
                raise CommandError(str(error)) from None
        self.stdout.write(f"The gallery is as it was on {manifest.made_at[:16].replace('T', ' ')}.")
        self.stdout.write(f"What was here lies in {aside}.")
        self.stdout.write("Start it; tablets then offer again what they did since.")


def _standing_still(data: Path) -> IO[str]:
    """Hold the lock that deploy/start holds while it runs; released when closed."""
    file = (data / "start.lock").open("a+", encoding="ascii")
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        file.close()
        raise CommandError(
            f"Gallery Ops runs on the data folder {data}. Stop it first (Ctrl-C where it was "
            "started), then restore."
        ) from None
    return file


def _has_gallery() -> bool:
    """Whether a showroom is here; a database that cannot be read holds none that counts."""
    try:
        return has_showroom()
    except DatabaseError:
        return False


def _put_files(new: Path, aside: Path) -> None:
    present = Path(settings.MEDIA_ROOT)
    if present.exists():
        shutil.move(present, aside)
    if new.exists():
        shutil.move(new, present)
