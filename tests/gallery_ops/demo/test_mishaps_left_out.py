"""Does no rule cry when nothing is wrong, and each only at its own cause?

The whole answer takes three more loads and runs with the long tests; all together left out runs
always, on one database, since what is tested is the rules' arithmetic. That is the second one:
`test_morning` loads the first, so that ninety days are lived through on each.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from gallery_ops.demo.mishaps import NONE, Mishaps
from inventory.models import Forecast
from tests.gallery_ops.demo.loaded import loaded, open_alerts

pytestmark = pytest.mark.django_db

KINDS = {"gas_loss": "gas_use", "weak_press": "press_off", "large_tub": "too_old"}


TOLD = {*KINDS.values(), "stock_finding"}


def _found(blocker: Any, mishaps: Mishaps) -> tuple[set[str], set[str], set[str]]:
    """Kinds of open alerts, alarms, and habits of pumps, of the projections in force."""
    with loaded(blocker, mishaps) as house:
        rows = Forecast.objects.of(house.showroom).filter(is_current=True)
        habits = {
            habit["habit"]
            for row in rows.filter(container__press_nominal_ul__isnull=False)
            for habit in row.finding.get("habits", ())
        }
        return set(open_alerts(house)) & TOLD, {row.alarm for row in rows}, habits


@pytest.mark.second
def test_nothing_is_found_where_nothing_is_wrong(
    django_db_setup: None, django_db_blocker: Any
) -> None:
    assert _found(django_db_blocker, NONE) == (set(), {"none"}, set())


@pytest.mark.once
@pytest.mark.long
@pytest.mark.parametrize("mishap", sorted(KINDS))
def test_each_is_found_alone(django_db_setup: None, django_db_blocker: Any, mishap: str) -> None:
    kinds, alarms, habits = _found(django_db_blocker, replace(NONE, **{mishap: True}))
    assert kinds == {KINDS[mishap]}
    assert ("steady_loss" in alarms) == (mishap == "gas_loss")
    assert ("gives_less" in habits) == (mishap == "weak_press")
