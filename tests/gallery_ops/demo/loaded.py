"""The demo gallery, loaded once for a file of tests and rolled back after it.

A load takes most of a minute, so the tests of one file share it; what each of them writes is rolled
back behind it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

from django.db import transaction

from gallery_ops.demo.generator import load
from gallery_ops.demo.house import House
from gallery_ops.demo.mishaps import Mishaps
from gallery_ops.kernel.models import Alert

ON = date(2026, 3, 12)


@contextmanager
def loaded(blocker: Any, mishaps: Mishaps, on: date = ON) -> Iterator[House]:
    """Undershore on the morning of a day, inside a transaction that is given up at the end."""
    with blocker.unblock(), transaction.atomic():
        yield load(on, mishaps=mishaps)
        transaction.set_rollback(True)


def open_alerts(house: House) -> dict[str, list[str]]:
    """Sentences of what is open, by kind."""
    found: dict[str, list[str]] = {}
    for alert in Alert.objects.of(house.showroom).filter(closed_at=None).order_by("cause_key"):
        found.setdefault(alert.kind, []).append(alert.sentence)
    return found
