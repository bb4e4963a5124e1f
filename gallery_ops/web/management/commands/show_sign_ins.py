"""Print how to sign in to the demo gallery."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from gallery_ops.demo.sign_ins import sign_ins
from gallery_ops.kernel import clock


class Command(BaseCommand):
    """Thin door to :mod:`gallery_ops.demo.sign_ins`."""

    help = "Print names, PINs and a fresh enrolment code of the demo gallery; nothing for others."
    requires_system_checks: list[str] = []  # get_ready asks for each version

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the block."""
        text = sign_ins(clock.now())
        if text:
            self.stdout.write(text)
