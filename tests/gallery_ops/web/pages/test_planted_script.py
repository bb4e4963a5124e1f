"""Whatever somebody writes as a name or a story, it stays text on every page."""

from __future__ import annotations

import time

import pytest
from django.db.models import CharField, Model, Value
from django.db.models.functions import Cast, Concat

from gallery_ops.kernel import clock
from gallery_ops.kernel.models import Alert, Device, Person, Showroom
from inventory.models import Container, CylinderDetail, Item, Lot, Scale, Supplier
from maintenance.models import TaskTemplate
from tanks.models import (
    Designer,
    Equipment,
    Hardscape,
    Layout,
    PlantGroup,
    Position,
    Room,
    Species,
    SubstrateLayer,
)
from tests.builders.fleet import a_fleet
from tests.gallery_ops.web.pages.addresses import addresses, named, signed_in

# Once: what escapes a name is the template; that every page opens on PostgreSQL too is shown by
# tests/house/test_rights_matrix.py.
pytestmark = pytest.mark.django_db

PLANTED = "\"'><script>x()</script>"
WRITTEN: tuple[tuple[type[Model], tuple[str, ...]], ...] = (
    (Showroom, ("name", "place", "address")),
    (Person, ("name",)),
    (Room, ("name",)),
    (Position, ("name",)),
    (Designer, ("name", "statement")),
    (Layout, ("title", "story", "inspiration", "hard_decision", "never_change", "went_wrong")),
    (PlantGroup, ("planted_as", "trimming", "if_not_trimmed", "provenance")),
    (Hardscape, ("name",)),
    (SubstrateLayer, ("material",)),
    (Species, ("vernacular_name",)),
    (Equipment, ("name",)),
    (Item, ("name",)),
    (Supplier, ("name",)),
    (Container, ("name",)),
    (Lot, ("maker_lot",)),
    (CylinderDetail, ("serial",)),
    (Scale, ("name",)),
    (Device, ("name",)),
    (TaskTemplate, ("name",)),
    (Alert, ("sentence",)),
)


@pytest.fixture(autouse=True)
def on_the_morning(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:08")
    monkeypatch.setattr(clock, "_started", time.monotonic())


def test_no_page_takes_a_name_for_markup() -> None:
    fleet = a_fleet(8, "gallery-8")
    for model, fields in WRITTEN:
        number = Cast("pk", CharField())
        planted = Concat(Value(PLANTED), number)
        model._default_manager.update(**dict.fromkeys(fields, planted))
    things = named(fleet.owner, fleet.tanks[6])
    client = signed_in(fleet.owner)
    shown = 0
    for address in addresses():
        answer = client.get(address.path(things))
        words = answer.content.decode(errors="replace")
        assert "<script>x()" not in words, address.name
        assert "'><script" not in words, address.name
        shown += "&lt;script&gt;x()" in words
    assert shown >= 10, "the planted text is on the pages, as text"
