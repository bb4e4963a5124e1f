"""Write the whole gallery into one file.

For example: `manage.py back_up`, or `manage.py back_up --to /mnt/stick/monday.tar.gz`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import GalleryError
from gallery_ops.kernel.services.backups import back_up

KEEP = 30


class Command(BaseCommand):
    help = "Write database and sent-in files into one file, also while the gallery works."
    requires_system_checks: list[str] = []  # get_ready asks for each version

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--to", type=Path, help="file to write (default: backups/ in the data)")
        parser.add_argument(
            "--keep", type=int, default=KEEP, help=f"in backups/ keep the newest (default {KEEP})"
        )

    def handle(self, *args: Any, to: Path | None = None, keep: int = KEEP, **options: Any) -> None:
        if keep < 1:
            raise CommandError("--keep must be 1 or more.")
        at = clock.now()
        own = Path(settings.DATA_DIR) / "backups"
        target = to or own / f"gallery-{at:%Y%m%dT%H%M%SZ}.tar.gz"
        try:
            made = back_up(to=target, at=at)
        except GalleryError as error:
            raise CommandError(str(error)) from None
        rows, size = sum(made.rows.values()), target.stat().st_size
        self.stdout.write(f"{target}: {rows} rows of {len(made.rows)} tables, {size:,} bytes.")
        if to is None:
            for old in sorted(own.glob("gallery-*.tar.gz"))[:-keep]:
                old.unlink()
                self.stdout.write(f"{old.name} was the oldest and is gone.")
        self.stdout.write("It holds names and telephone numbers: keep it as you keep the keys.")
