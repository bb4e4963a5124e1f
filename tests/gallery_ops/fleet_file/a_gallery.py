"""A gallery for the tests of the import, made through the services."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from gallery_ops.fleet_file.apply import bring_in
from gallery_ops.fleet_file.dry_run import DryRun, Wishes, dry_run
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.services.people import add_person, make_showroom
from maintenance.models import ImportRun
from tanks.queries.tanks import TankNow, fleet

AT = datetime(2026, 3, 12, 9, 14, tzinfo=UTC)
OUTSIDE = Path(__file__).parents[2] / "outside"
FILES = Path(__file__).parent / "files"


@dataclass
class Gallery:
    """A showroom and its manager, with the moves of an import."""

    showroom: Showroom
    manager: Membership
    owner: Membership
    at: datetime = AT

    def dry(self, content: bytes, **wishes: str) -> DryRun:
        return dry_run(self.showroom, content, self.at, Wishes(**wishes))

    def bring(
        self, content: bytes, *, leave_out: bool = False, by: Membership | None = None
    ) -> ImportRun | None:
        run = self.dry(content)
        return bring_in(
            showroom=self.showroom,
            plan=run.plan,
            now=run.now,
            file_name="fleet.csv",
            by=by or self.manager,
            at=self.at,
            leave_out=leave_out,
        )

    def later(self, **time: float) -> None:
        self.at += timedelta(**time)

    @property
    def tanks(self) -> dict[str, TankNow]:
        return {tank.code: tank for tank in fleet(self.showroom, self.at)}


def a_gallery(code: str = "undershore") -> Gallery:
    showroom = make_showroom(
        code=code,
        name=code.capitalize(),
        zone="Europe/London",
        currency="GBP",
        country="GB",
        at=AT - timedelta(days=100),
    )
    owner = add_person(
        showroom=showroom,
        login=f"maud.{code}",
        name="Maud Ellerkamp",
        role="owner",
        by=None,
        at=AT - timedelta(days=100),
    )
    manager = add_person(
        showroom=showroom,
        login=f"iskra.{code}",
        name="Iskra Vann",
        role="manager",
        by=owner,
        at=AT - timedelta(days=99),
    )
    return Gallery(showroom, manager, owner)
