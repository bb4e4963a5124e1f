"""The worker's handlers for stock: once or twice, all at once or one by one, with the same end."""

from __future__ import annotations

from datetime import timedelta

import pytest

from gallery_ops.kernel import register
from gallery_ops.kernel.models import Alert, WorkItem
from gallery_ops.kernel.services.work import run_due, want_work
from gallery_ops.kernel.values.quantity import Volume
from inventory.models import Forecast
from inventory.services.plans import PlanLine
from tests.inventory.projections.world import NOW, World, a_world

pytestmark = pytest.mark.django_db
KINDS = ("forecast", "reorder", "watch")


def low_stock() -> World:
    world = a_world(days=3)
    carbon = world.item("carbon", "fertiliser", "volume")
    world.supplier(carbon, Volume.l(5))
    world.bottle(carbon, content=Volume.ml(90))
    world.plan(carbon, "dose", PlanLine(Volume.ml(3)))
    world.dose_days(carbon, world.days())
    return world


def test_the_three_kinds_have_handlers_that_run_by_themselves_too() -> None:
    assert set(KINDS) <= {one.kind for one in register.periodic()}


def test_work_wanted_by_the_doses_ends_in_one_alert() -> None:
    world = low_stock()
    assert WorkItem.objects.filter(kind="forecast", done_at=None).exists()
    run_due(at=NOW, showroom=world.showroom, kinds=KINDS)
    assert not WorkItem.objects.filter(kind__in=KINDS, done_at=None).exists()
    (alert,) = Alert.objects.filter(closed_at=None)
    assert alert.kind == "reorder"


def test_the_same_work_again_changes_nothing() -> None:
    world = low_stock()
    run_due(at=NOW, showroom=world.showroom, kinds=KINDS)
    before = (
        list(Forecast.objects.order_by("pk").values()),
        list(Alert.objects.order_by("pk").values_list("pk", "closed_at")),
    )
    later = NOW + timedelta(minutes=1)
    for kind in KINDS:
        want_work(world.showroom, kind, at=later)
    run_due(at=later, showroom=world.showroom, kinds=KINDS)
    assert before == (
        list(Forecast.objects.order_by("pk").values()),
        list(Alert.objects.order_by("pk").values_list("pk", "closed_at")),
    )


def test_a_subject_that_is_gone_is_done_without_an_error() -> None:
    world = low_stock()
    want_work(world.showroom, "forecast", "container:999999", at=NOW)
    run_due(at=NOW, showroom=world.showroom, kinds=KINDS)
    item = WorkItem.objects.get(subject="container:999999")
    assert item.done_at is not None
    assert item.error == ""
