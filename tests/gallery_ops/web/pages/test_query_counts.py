"""No page asks the database more often for two hundred tanks than for twenty."""

from __future__ import annotations

import time

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Membership
from tanks.models import Layout
from tanks.services.layouts import add_designer
from tests.builders.fleet import Fleet, a_fleet
from tests.builders.people import a_member
from tests.gallery_ops.web.pages.addresses import AT, addresses, named, signed_in

pytestmark = [pytest.mark.django_db, pytest.mark.once]

OTHER_VIEWS = (
    "day_board?as=list",
    "day_board?poll=1",
    "tank_wall?as=list",
    "tank_wall?on=2026-03-03",
    "tank_changes?since=week",
    "add_tank_sheet?length=60&width=30&height=36&glass=6&co2=yes",
    "tank_find?q=Layout",
    "stock_forecast?as=table",
    "stock_forecast?weeks=26",
    "stock_item?page=2&entries=2",
    "forecast_report?as=table",
    "forecast_report?as=every",
    "forecast_whatif?dose_percent=10",
    "calculator?kh=4&ph=6.6&temp=24",
    "container_labels?page=2",
    "label_sheet?size=a6",
)
MOST = 60


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


class Gallery:
    """A fleet of some size, and the addresses of its pages by name."""

    def __init__(self, size: int) -> None:
        fleet = a_fleet(size, f"gallery-{size}")
        things = named(fleet.owner, fleet.tanks[6])
        self.rights = {address.name: address.right for address in addresses()}
        self.owner, self.guest = signed_in(fleet.owner), signed_in(_a_guest(fleet))
        self.paths = {address.name: address.path(things) for address in addresses()}
        for view in OTHER_VIEWS:
            name, _, asking = view.partition("?")
            self.paths[view] = f"{self.paths[name]}?{asking}"

    def ask(self, name: str) -> tuple[int, int] | None:
        """How many questions a page asks and how long it is [bytes]; none of a deed."""
        own = self.rights.get(name) == "layout.read_own"
        with CaptureQueriesContext(connection) as asked:
            answer = (self.guest if own else self.owner).get(self.paths[name])
        if answer.status_code == 405:
            return None
        assert answer.status_code in {200, 302}, (name, answer.status_code)
        return len(asked), len(answer.content)


def _a_guest(fleet: Fleet) -> Membership:
    """Somebody who designed every tank of the fleet."""
    guest = a_member(fleet.owner, "guest_designer")
    designer = add_designer(
        showroom=fleet.showroom, name="Corvin Aldaye", person=guest.person, by=fleet.owner, at=AT
    )
    Layout.objects.filter(showroom=fleet.showroom).update(designer=designer)
    return guest


def test_every_page_asks_as_often_for_200_tanks_as_for_20() -> None:
    """What is drawn once and kept costs more at first: where counts differ, both ask once more."""
    small, large = Gallery(20), Gallery(200)
    lengths, costs = {}, {}
    for name in small.paths:
        few, many = small.ask(name), large.ask(name)
        if few is None or many is None:
            assert few == many, name
            continue
        if few[0] != many[0]:
            few, many = small.ask(name), large.ask(name)
        assert few is not None
        assert many is not None
        assert many[0] == few[0], name
        costs[name], lengths[name] = many[0], (few[1], many[1])
    assert len(costs) > 100
    assert max(costs.values()) <= MOST, {n: c for n, c in costs.items() if c > MOST}
    for name in ("day_board", "tank_wall", "own_layouts"):
        few_bytes, many_bytes = lengths[name]
        assert many_bytes > 3 * few_bytes, f"{name} does not hold the fleet"
