"""The same look or answer sent twice at the same moment is one row and two alike answers."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection

from gallery_ops.kernel.models import AuditEntry
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import EyeCount, StockFinding, Weighing
from inventory.services.eye_counts import record_eye_count
from inventory.services.findings import answer_finding, take_back_finding
from inventory.services.weighing import record_weighing
from tests.builders.gallery import AT, a_person, a_showroom
from tests.builders.stock import a_bottle, a_fertiliser, a_scale


def at_once(deed: Callable[[], Any], times: int = 3) -> list[Any]:
    """What came of it, or what was raised."""
    start, found = threading.Barrier(times), list[Any]()

    def tell() -> None:
        try:
            start.wait(10)
            found.append(deed())
        except Exception as fault:
            found.append(fault)
        finally:
            connection.close()

    threads = [threading.Thread(target=tell) for _ in range(times)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    return found


@pytest.mark.django_db(transaction=True)
def test_an_eye_a_weighing_and_an_answer_sent_three_times_at_once_are_one_each() -> None:
    showroom = a_showroom()
    bottle, by = a_bottle(a_fertiliser(showroom)), a_person("manager", showroom=showroom)
    scale = a_scale(showroom)
    of_eye, of_scale, of_answer = (uuid4() for _ in range(3))
    day = (AT - timedelta(days=2)).date()
    deeds: list[Callable[[], Any]] = [
        lambda: record_eye_count(container=bottle, quarters=2, by=by, at=AT, action_id=of_eye),
        lambda: record_weighing(
            container=bottle, gross=Mass.g(431), scale=scale, by=by, at=AT, action_id=of_scale
        ),
        lambda: answer_finding(
            container=bottle, what="spilled", from_on=day, last_on=None, by=by, at=AT,
            action_id=of_answer,
        ),
    ]  # fmt: skip
    for deed in deeds:
        found = at_once(deed)
        assert len(found) == 3
        assert {row.pk for row in found if not isinstance(row, Exception)} == {found[0].pk}, found
    assert (EyeCount.objects.count(), Weighing.objects.count()) == (1, 1)
    assert StockFinding.objects.count() == 1


@pytest.mark.django_db
def test_taking_back_an_answer_leaves_a_trail() -> None:
    showroom = a_showroom()
    bottle, by = a_bottle(a_fertiliser(showroom)), a_person("manager", showroom=showroom)
    day = (AT - timedelta(days=2)).date()
    row = answer_finding(container=bottle, what="spilled", from_on=day, last_on=None, by=by, at=AT)
    take_back_finding(finding=row, by=by, at=AT)
    entry = AuditEntry.objects.latest("pk")
    assert entry.deed == "finding.taken_back"
    assert entry.before["what"] == "spilled"


@pytest.mark.django_db
def test_an_answer_sent_again_later_is_the_one_that_is_there() -> None:
    showroom = a_showroom()
    bottle, by = a_bottle(a_fertiliser(showroom)), a_person("manager", showroom=showroom)
    day, sent = (AT - timedelta(days=2)).date(), uuid4()

    def answer(at: datetime) -> StockFinding:
        return answer_finding(
            container=bottle, what="spilled", from_on=day, last_on=None, by=by, at=at,
            action_id=sent,
        )  # fmt: skip

    assert answer(AT).pk == answer(AT + timedelta(minutes=5)).pk
    assert StockFinding.objects.count() == 1
