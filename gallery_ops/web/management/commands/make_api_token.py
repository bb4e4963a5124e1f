"""Make a token for a program.

For example: `manage.py make_api_token undershore iskra.vann "stock sheet" read`.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import GalleryError
from gallery_ops.kernel.queries.people import member_by_login, showroom_by_code
from gallery_ops.kernel.services.tokens import make_token


class Command(BaseCommand):
    help = "Make a token with which a program may ask in the name of somebody who works here."
    requires_system_checks: list[str] = []  # get_ready asks for each version

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("showroom", help="code of the showroom")
        parser.add_argument("login", help="sign-in name of the person it stands for")
        parser.add_argument("name", help="what the token is for")
        parser.add_argument("scopes", nargs="+", help="rights, such as: read record")
        parser.add_argument("--by", help="sign-in name of who makes it (default: the same person)")
        parser.add_argument("--days", type=int, help="how long it works (default: until revoked)")

    def handle(self, *args: Any, **options: Any) -> None:
        at = clock.now()
        days = options["days"]
        if days is not None and not 1 <= days <= 3650:
            raise CommandError("--days must be 1 to 3650.")
        try:
            showroom = showroom_by_code(options["showroom"])
            made = make_token(
                showroom=showroom,
                membership=member_by_login(showroom, options["login"], at),
                name=options["name"],
                scopes=options["scopes"],
                by=member_by_login(showroom, options["by"] or options["login"], at),
                at=at,
                expires_at=at + timedelta(days=days) if days else None,
            )
        except GalleryError as error:
            raise CommandError(str(error)) from None
        self.stdout.write(made.secret)
        self.stderr.write("Keep it now: it is shown only this once.")
