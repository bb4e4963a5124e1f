"""What the gallery uses and holds by plan, on the console or for a program.

python manage.py show_figures --on 2026-03-12 --json
"""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from gallery_ops.kernel import clock
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.queries.people import showroom_by_code, showrooms
from gallery_ops.overview.figures import figures, figures_on


class Command(BaseCommand):
    help = (
        "What the gallery uses and holds by plan: volumes, dose, gas, food, how long stock lasts."
    )
    requires_system_checks: list[str] = []  # get_ready asks for each version

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--on", help="a day such as 2026-03-12; today when left out")
        parser.add_argument("--json", action="store_true", help="one JSON object")
        parser.add_argument("--showroom", default="", help="short name, when there are several")

    def handle(self, *args: Any, **options: Any) -> None:
        showroom = _showroom(options["showroom"])
        found = (
            figures_on(showroom, _day(options["on"]))
            if options["on"]
            else figures(showroom, clock.now())
        ).as_dict()
        if options["json"]:
            self.stdout.write(json.dumps(found, indent=2, ensure_ascii=False))
            return
        items = found.pop("items")
        self.stdout.write(str(showroom))
        for key, value in found.items():
            self.stdout.write(f"  {key:<30} {value}")
        for item in items:
            days = "no plan" if item["whole_days"] is None else f"{item['whole_days']} whole days"
            self.stdout.write(
                f"  {item['name']}: {item['held']:g} {item['unit']} held, "
                f"{item['planned_per_day']:g} a day by plan, {days}"
            )


def _showroom(code: str) -> Showroom:
    known = list(showrooms()[:50])
    if not known:
        raise CommandError("There is no showroom yet: open the web page and make one first.")
    if not code and len(known) == 1:
        return known[0]
    codes = ", ".join(showroom.code for showroom in known)
    if not code:
        raise CommandError(f"There are several showrooms. Choose with --showroom: {codes}.")
    try:
        return showroom_by_code(code)
    except Unknown:
        raise CommandError(f"--showroom: {code!r} is none of {codes}.") from None


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise CommandError(f"--on: {text!r} is no day. Write it as 2026-03-12.") from None
