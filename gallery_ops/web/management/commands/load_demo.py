"""Load the demo gallery into an empty database."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from gallery_ops.demo.generator import load, today
from gallery_ops.demo.sign_ins import give_passwords
from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import GalleryError


class Command(BaseCommand):
    """Thin door to :mod:`gallery_ops.demo.generator`."""

    help = "Load the demo gallery Undershore with ninety days of history into an empty database."
    requires_system_checks: list[str] = []  # get_ready asks for each version

    def add_arguments(self, parser: CommandParser) -> None:
        """The day on which the demo plays."""
        parser.add_argument(
            "--on", default="", help="the day it plays on, as 2026-03-12; today if left out"
        )

    def handle(self, *args: Any, on: str, **options: Any) -> None:
        """Load it, or say why not."""
        try:
            day = date.fromisoformat(on) if on else today(clock.now())
        except ValueError:
            raise CommandError(f"--on {on!r} is no date. Write one such as 2026-03-12.") from None
        try:
            house = load(day)
            give_passwords(house.showroom, secrets.token_urlsafe(9), at=clock.now())
        except GalleryError as no:
            raise CommandError(str(no)) from None
        self.stdout.write(f"Undershore stands as on the morning of {day:%d %B %Y}.")
