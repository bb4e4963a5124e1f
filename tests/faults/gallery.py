"""What the programs under test are asked to do and to tell, in a process beside them.

    python -m tests.faults.gallery listen | review GO_FILE

``listen`` does one deed for each line that it is given (prepare, want, knock or state) and answers
each with one line of JSON. ``state`` is the alerts of the job, the causes it should say, its rows
of work.
"""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path
from typing import Any

import django

TANKS = 5
KIND = "overdue"
TIMES = 8


def prepare() -> None:
    """Five tanks whose week of care nobody did: many alerts of several classes are due."""
    from maintenance.services import due_tasks
    from tests.maintenance.house import START, a_house, a_tank

    house = a_house()
    for n in range(1, TANKS + 1):
        a_tank(house, f"T{n:02}")
    for day in range(7):
        at = START.replace(day=START.day + day)
        due_tasks.ensure(showroom=house.showroom, at=at)


def want() -> None:
    """Ask for the alert job, as a service does, with its knock at the worker's door."""
    from gallery_ops.kernel import clock
    from gallery_ops.kernel.models import Showroom
    from gallery_ops.kernel.services.work import want_work

    want_work(Showroom.objects.get(), KIND, at=clock.now())


def knock() -> None:
    """Send what beat sends every half minute."""
    from gallery_ops.celery import app

    app.send_task("gallery_ops.kernel.worker.sweep", expires=60)


def review(go: str) -> None:
    """Run the job several times as soon as the file is there, so that two processes meet."""
    from gallery_ops.kernel import clock
    from gallery_ops.kernel.models import Showroom
    from maintenance.services import overdue

    showroom = Showroom.objects.get()
    print("ready", flush=True)
    while not Path(go).exists():
        time.sleep(0.001)
    for _ in range(TIMES):
        overdue.review(showroom=showroom, at=clock.now())


def state() -> dict[str, Any]:
    """What is stored, beside what the rule says by itself."""
    from gallery_ops.kernel import clock
    from gallery_ops.kernel.models import Alert, Showroom, WorkItem
    from gallery_ops.kernel.services.alerts import cause_key
    from maintenance.queries.due import open_tasks
    from maintenance.services.overdue import late_tasks, wanted_alerts

    showroom, at = Showroom.objects.get(), clock.now()
    late = late_tasks(showroom, open_tasks(showroom, at), at)
    alerts = Alert.objects.of(showroom).filter(kind=KIND)
    work = WorkItem.objects.of(showroom).filter(kind=KIND)
    return {
        "wanted": sorted(cause_key(KIND, key) for key in wanted_alerts(late)),
        "open": sorted(alerts.filter(closed_at=None).values_list("cause_key", flat=True)),
        "closed": alerts.exclude(closed_at=None).count(),
        "waiting": work.filter(done_at=None, taken_at=None).count(),
        "taken": work.filter(done_at=None).exclude(taken_at=None).count(),
        "done": work.exclude(done_at=None).count(),
    }


def listen() -> None:
    """Do what each line says, until there are no more lines."""
    deeds = {"prepare": prepare, "want": want, "knock": knock, "state": state}
    for line in sys.stdin:
        print(json.dumps(deeds[line.strip()]()), flush=True)


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "gallery_ops.settings"
    django.setup()
    deed, *more = sys.argv[1:]
    {"listen": listen, "review": review}[deed](*more)
