"""Tablets with much to send, and the books afterwards, each asked in a process of its own.

    python -m tests.faults.tablets prepare TABLETS ENTRIES | books

``prepare`` makes a small gallery and prints what each tablet entered, as JSON.
"""

from __future__ import annotations

import json
import os
import sys
from typing import Any

import django

ONE_IN = 10
"""One entry in so many is a dose, the others are notes."""


def prepare(tablets: int, entries: int) -> list[dict[str, Any]]:
    """Tablets of one gallery, each with its token and its entries in order."""
    from gallery_ops.overview.who import DEVICE_COOKIE
    from tests.gallery_ops.api.asking import a_batch, a_dose, a_morning, a_note, enrolled

    house = a_morning(tanks=1)
    told = []
    for _ in range(tablets):
        tablet = enrolled(house)
        uid = str(tablet.device.uid)
        actions = [
            a_dose(house, seq=n, device_id=uid)
            if n % ONE_IN == 0
            else a_note(house, f"line {n}", seq=n, device_id=uid)
            for n in range(1, entries + 1)
        ]
        envelope = a_batch(uid)
        told.append(
            {
                "cookie": f"{DEVICE_COOKIE}={tablet.token}",
                "envelope": envelope,
                "actions": actions,
            }
        )
    return told


def books() -> dict[str, Any]:
    """What is in the books."""
    from inventory.models import Movement, Use
    from maintenance.models import Action, Observation

    moved = Movement.objects.filter(kind="use").values_list("amount_base", flat=True)
    return {
        "actions": [str(one) for one in Action.objects.values_list("action_id", flat=True)],
        "notes": Observation.objects.count(),
        "doses": Use.objects.standing().count(),
        "moved_ul": sum(moved),
    }


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "gallery_ops.settings"
    django.setup()
    deed, *more = sys.argv[1:]
    print(json.dumps(prepare(int(more[0]), int(more[1])) if deed == "prepare" else books()))
