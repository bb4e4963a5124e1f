"""The same batch in two requests at the same moment, as a page that is left may send it twice."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from django.db import connection

from inventory.models import Movement
from maintenance.models import Action, Observation
from tests.gallery_ops.api.asking import (
    a_batch,
    a_dose,
    a_morning,
    a_note,
    a_tablet,
    enrolled,
    send,
    verdicts,
)


@pytest.mark.django_db(transaction=True)
def test_a_batch_sent_twice_at_once_counts_once() -> None:
    house = a_morning(tanks=3)
    tablet = enrolled(house)
    actions = [a_note(house, f"line {n}", seq=n) for n in range(1, 13)]
    actions += [a_dose(house, f"T0{n}", seq=12 + n) for n in (1, 2, 3)]
    batch = a_batch(str(tablet.device.uid), *actions)
    start, answers = threading.Barrier(3), list[Any]()

    def tell() -> None:
        try:
            start.wait(10)
            answers.append(send(a_tablet(tablet), batch))
        finally:
            connection.close()

    threads = [threading.Thread(target=tell) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    said = [verdicts(answer) for answer in answers]
    assert len(said) == 3
    for of_one in zip(*said, strict=True):
        assert sorted(of_one) == ["accepted", "duplicate", "duplicate"]
    assert Action.objects.count() == 15
    spent = Movement.objects.filter(kind="use").values_list("amount_base", flat=True)
    assert list(spent) == [-3000] * 3
    assert send(a_tablet(tablet), a_batch(str(tablet.device.uid))).json()["received_up_to"] == 15


@pytest.mark.django_db(transaction=True)
def test_one_id_with_two_contents_at_once_is_kept_twice_and_counted_once() -> None:
    house = a_morning(tanks=3)
    tablet = enrolled(house)
    first = a_note(house, "leaf on the surface", seq=1)
    second = {**a_note(house, "no leaf at all", seq=1), "action_id": first["action_id"]}
    start, answers = threading.Barrier(2), list[Any]()

    def tell(action: Any) -> None:
        try:
            start.wait(10)
            answers.append(send(a_tablet(tablet), a_batch(str(tablet.device.uid), action)))
        finally:
            connection.close()

    threads = [threading.Thread(target=tell, args=[one]) for one in (first, second)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    said = sorted(verdict for answer in answers for verdict in verdicts(answer))
    assert said == ["accepted", "differs"]
    assert Action.objects.count() == 2
    assert Observation.objects.count() == 1
