"""Is the demo the same gallery whatever stood in the database before it?

Row keys go on counting where an earlier gallery stopped, and a database gives rows that no
``order_by`` puts in order as it likes (SQLite can be told to give them backwards). Neither may move
a gram. The first five of the ninety days are walked, twice, which takes seconds; the morning of
the day itself is `test_morning`.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import connection, transaction

from gallery_ops.demo import generator
from gallery_ops.demo.days import Days
from gallery_ops.demo.luck import Luck
from gallery_ops.demo.stock import HISTORY_DAYS
from inventory.models import Movement, Use, Weighing
from maintenance.models import Completion, Skip
from tanks.models import Reading
from tests.builders.fleet import a_fleet
from tests.gallery_ops.demo.loaded import ON

# Once: both causes show on SQLite. PostgreSQL counts no rows within a transaction and takes long.
pytestmark = [pytest.mark.django_db, pytest.mark.once]

WALKED = 5
MODELS = (Movement, Use, Weighing, Reading, Completion, Skip)
"""Every fact of the walk: what went, what was weighed and read, what was done and passed by."""
KEYS = {
    Movement: (
        "kind",
        "amount_base",
        "item__code",
        "container__name",
        "container__cylinder__serial",
    ),
    Use: ("purpose", "given_base", "planned_base", "is_skip", "container__name"),
    Weighing: ("gross_mg", "net_base", "expected_base", "container__cylinder__serial"),
    Reading: ("parameter__key", "value", "word"),
    Completion: ("due_task__template__key", "due_task__occurrence_key"),
    Skip: ("due_task__template__key", "due_task__occurrence_key", "reason"),
}


@contextmanager
def _rows_backwards() -> Iterator[None]:
    """Rows without an order come the other way round; PostgreSQL promises no order anyway."""
    if connection.vendor != "sqlite":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA reverse_unordered_selects = ON")
        try:
            yield
        finally:
            cursor.execute("PRAGMA reverse_unordered_selects = OFF")


@pytest.fixture(autouse=True)
def five_days_beside_another_gallery(monkeypatch: pytest.MonkeyPatch) -> None:
    """The load, cut short, and not put off by what stands in the database already."""
    whole = Days.run
    monkeypatch.setattr(Days, "run", lambda days: whole(days, until=HISTORY_DAYS - WALKED))
    monkeypatch.setattr(generator, "has_showroom", lambda: False)
    monkeypatch.setattr(generator, "settle", lambda _house: None)


def _facts() -> dict[str, list[tuple[str, ...]]]:
    """What five days left, without keys and codes, which are new each time."""
    with transaction.atomic():
        house = generator.load(ON)
        found = {
            model.__name__: sorted(
                tuple(map(str, row))
                for row in model.objects.of(house.showroom).values_list("done_at", *KEYS[model])
            )
            for model in MODELS
        }
        transaction.set_rollback(True)
    return found


def test_one_seed_gives_the_same_facts_on_another_ground() -> None:
    first = _facts()
    assert all(first.values())
    a_fleet(7, code="another")
    with _rows_backwards():
        again = _facts()
    for name, rows in first.items():
        assert again[name] == rows, name


def test_chance_follows_from_the_seed_and_from_what_it_is_for() -> None:
    def drawn(seed: int, *what: str | int) -> float:
        return Luck(seed).of(*what).random()

    assert drawn(1, "valve", "T16", 9) == drawn(1, "valve", "T16", 9)
    others = {drawn(2, "valve", "T16", 9), drawn(1, "valve", "T16", 8), drawn(1, "scale", "T16", 9)}
    assert len(others | {drawn(1, "valve", "T16", 9)}) == 4
