"""No endpoint asks the database more often for two hundred tanks than for twenty."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from gallery_ops.overview.who import SHOWROOM_KEY
from inventory.models import Container
from maintenance.models import DueTask, Stop
from tests.builders.fleet import Fleet, a_fleet
from tests.gallery_ops.api.asking import BOOT, a_browser, a_note_of, send, verdicts

pytestmark = pytest.mark.django_db

ADDRESSES = {
    "tanks": "tanks?page_size=200",
    "tank": "tanks/T0007",
    "layouts": "layouts?page_size=200",
    "items": "items?page_size=200",
    "item": "items/fertiliser",
    "containers": "containers?page_size=200",
    "container": "containers/{bottle}",
    "forecasts": "forecasts?page_size=200",
    "alerts": "alerts?page_size=200",
    "due-tasks": "due-tasks?page_size=200&on=2026-03-12&kind=dose",
    "due-task": "due-tasks/{task}",
    "emergencies": "emergencies",
    "rounds": "rounds?page_size=200",
    "round": "rounds/{opening}",
    "pack": "rounds/{opening}/pack",
}


def _named(fleet: Fleet) -> dict[str, object]:
    """What the addresses of single rows are made of."""
    return {
        "bottle": Container.objects.filter(showroom=fleet.showroom).earliest("pk").code,
        "task": DueTask.objects.filter(showroom=fleet.showroom).earliest("pk").uid,
        "opening": fleet.opening.uid,
    }


def _counts(fleet: Fleet) -> dict[str, tuple[int, int]]:
    """Name -> how many queries, and how long the answer is [bytes]."""
    browser, named, found = a_browser(fleet.owner), _named(fleet), {}
    for name, address in ADDRESSES.items():
        with CaptureQueriesContext(
            connection,
        ) as asked:
            answer = browser.get(f"/api/v1/{address.format(**named)}")
        assert answer.status_code == 200, answer.content[:300]
        found[name] = (len(asked), len(answer.content))
    return found


@pytest.mark.once
def test_every_endpoint_asks_as_often_for_200_tanks_as_for_20() -> None:
    few, many = _counts(a_fleet(20, "few")), _counts(a_fleet(200, "many"))
    assert {name: n for name, (n, _) in many.items()} == {name: n for name, (n, _) in few.items()}
    assert max(n for n, _ in many.values()) < 74
    for name in ("tanks", "layouts", "containers", "forecasts", "alerts", "due-tasks", "pack"):
        assert many[name][1] > 4 * few[name][1], f"{name} does not hold the fleet"


def test_an_action_costs_the_same_in_a_batch_of_ten_and_of_a_hundred() -> None:
    fleet = a_fleet(20)
    client = a_browser(fleet.owner)
    assert client.session[SHOWROOM_KEY] == fleet.showroom.pk
    costs = {size: _cost(client, fleet, size) for size in (10, 100)}
    assert costs[100] - costs[10] <= 90 * 16
    per_action = (costs[100] - costs[10]) / 90
    assert costs[10] - 10 * per_action < 40


def _cost(client: Client, fleet: Fleet, size: int) -> int:
    stops = list(Stop.objects.filter(round=fleet.opening))
    notes = [a_note_of(fleet.owner, fleet.opening, stops[n % 20]) for n in range(size)]
    batch = {
        "device_id": "desk",
        "epoch": "0",
        "sent_at": "2026-03-12T08:08:00Z",
        "boot_id": BOOT,
        "monotonic_ms": 1,
        "actions": notes,
    }
    with CaptureQueriesContext(connection) as asked:
        said = verdicts(send(client, batch))
    assert said == ["accepted"] * size
    return len(asked)
