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


def _counts(size: int, wanted: dict[str, int]) -> tuple[dict[str, int], dict[str, int]]:
    """By page: how many queries, how long the answer is [bytes].

    What is drawn once and kept is drawn by a first call, which costs more: it is asked again unless
    it asked as often as is wanted already.
    """
    fleet = a_fleet(size, f"gallery-{size}")
    things = named(fleet.owner, fleet.tanks[6])
    clients = {"read": signed_in(fleet.owner), "layout.read_own": signed_in(_a_guest(fleet))}
    paths = {address.name: address.path(things) for address in addresses()}
    for view in OTHER_VIEWS:
        name, _, asking = view.partition("?")
        paths[view] = f"{paths[name]}?{asking}"
    counts, sizes = {}, {}
    rights = {address.name: address.right for address in addresses()}
    for name, path in paths.items():
        client = clients.get(rights.get(name) or "read", clients["read"])
        with CaptureQueriesContext(connection) as asked:
            answer = client.get(path)
        if answer.status_code != 405 and len(asked) != wanted.get(name):
            with CaptureQueriesContext(connection) as asked:
                answer = client.get(path)
        if answer.status_code == 405:
            continue  # a deed, not a page
        assert answer.status_code in {200, 302}, (name, answer.status_code)
        counts[name] = len(asked)
        sizes[name] = len(answer.content)
    return counts, sizes


def _a_guest(fleet: Fleet) -> Membership:
    """Somebody who designed every tank of the fleet."""
    guest = a_member(fleet.owner, "guest_designer")
    designer = add_designer(
        showroom=fleet.showroom, name="Corvin Aldaye", person=guest.person, by=fleet.owner, at=AT
    )
    Layout.objects.filter(showroom=fleet.showroom).update(designer=designer)
    return guest


def test_every_page_asks_as_often_for_200_tanks_as_for_20() -> None:
    few, few_bytes = _counts(20, {})
    many, many_bytes = _counts(200, few)
    assert many == few
    assert max(many.values()) <= MOST, {n: c for n, c in many.items() if c > MOST}
    for name in ("day_board", "tank_wall", "own_layouts"):
        assert many_bytes[name] > 3 * few_bytes[name], f"{name} does not hold the fleet"
