"""Is the demo the same on other days: a Sunday, a leap day, days on which the clocks change?

And is it the same twice? Each load takes most of a minute, so these run with the long tests.
"""

from __future__ import annotations

from datetime import date, time
from typing import Any

import pytest

from gallery_ops.demo.house import House
from gallery_ops.demo.mishaps import ALL
from gallery_ops.overview.figures import figures_on
from inventory.models import Movement, Weighing
from maintenance.services import overdue
from tanks.models import Reading
from tests.gallery_ops.demo.loaded import loaded, open_alerts

pytestmark = [pytest.mark.django_db, pytest.mark.once, pytest.mark.long]

DAYS = {
    "a Sunday": date(2026, 3, 15),
    "a leap day": date(2028, 2, 29),
    "clocks forward": date(2026, 3, 29),
    "clocks back": date(2026, 10, 25),
}


@pytest.mark.parametrize("day", DAYS.values(), ids=DAYS)
def test_the_morning_of_another_day(
    django_db_setup: None, django_db_blocker: Any, day: date
) -> None:
    with loaded(django_db_blocker, ALL, day) as house:
        found = open_alerts(house)
        assert {"gas_use", "press_off", "too_old"} <= set(found)
        assert len(found["gas_use"]) == 1
        assert figures_on(house.showroom, day).as_dict()["dose_ml_per_day"] == 196
        overdue.review(showroom=house.showroom, at=house.at(0, time(5)))
        assert "overdue" not in open_alerts(house)


def test_the_same_day_gives_the_same_facts(django_db_setup: None, django_db_blocker: Any) -> None:
    facts = []
    for _ in range(2):
        with loaded(django_db_blocker, ALL) as house:
            facts.append(_facts(house))
    assert facts[0] == facts[1]
    assert len(facts[0]) > 3_000


def _facts(house: House) -> list[tuple[Any, ...]]:
    """What was moved, weighed and read, without the random names of rows."""
    rows: list[tuple[Any, ...]] = []
    for model, columns in (
        (Movement, ("kind", "amount_base")),
        (Weighing, ("gross_mg", "tare_mg")),
        (Reading, ("parameter_id", "text_as_typed")),
    ):
        ordered = model.objects.of(house.showroom).order_by("pk")
        rows += ordered.values_list(*columns, "done_at_corrected", "person__login")
    return rows
