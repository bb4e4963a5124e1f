"""Is each piece of work done once when many workers are at it, and when one is killed?"""

import os
import signal
import subprocess
import sys
import threading
import time
from datetime import datetime, timedelta

import pytest
from django.conf import settings
from django.db import connection, transaction

from gallery_ops.kernel import register
from gallery_ops.kernel.models import Showroom, WorkItem
from gallery_ops.kernel.services import work
from gallery_ops.kernel.services.work import want_all, want_work
from tests.builders.people import AT, a_showroom
from tests.gallery_ops.kernel.services.work.working import (
    at_once,
    at_once_each,
)

MINUTE = timedelta(minutes=1)


@pytest.mark.django_db(transaction=True)
def test_many_workers_do_each_piece_once(knocks: list[str]) -> None:
    showroom = a_showroom()
    done: list[str] = []

    @register.job("forecast")
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        done.append(subject)

    want_all(showroom, "forecast", [str(n) for n in range(60)], at=AT)
    at_once(4, lambda: work.run_due(at=AT))
    work.run_due(at=AT)
    assert sorted(done) == sorted(str(n) for n in range(60))


@pytest.mark.django_db(transaction=True)
def test_wanting_the_same_at_once_makes_one_row(knocks: list[str]) -> None:
    showroom = a_showroom()

    def want() -> None:
        for _ in range(20):
            want_work(showroom, "forecast", "a", at=AT)

    at_once(4, want)
    assert WorkItem.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_fact_written_while_its_row_is_done_is_seen_by_a_further_run(knocks: list[str]) -> None:
    """The writer commits only after the worker began: the row must be due once more."""
    showroom = a_showroom()
    seen: list[int] = []
    wanted, began = threading.Event(), threading.Event()

    @register.job("forecast")
    def handler(showroom: Showroom, subject: str, at: datetime) -> None:
        seen.append(Showroom.objects.count())

    want_work(showroom, "forecast", "a", at=AT)

    def write() -> None:
        with transaction.atomic():
            a_showroom("fact")
            want_work(showroom, "forecast", "a", at=AT)
            wanted.set()
            began.wait(10)
            time.sleep(0.2)

    def run() -> None:
        wanted.wait(10)
        began.set()
        work.run_due(at=AT)

    at_once_each(write, run)
    work.run_due(at=AT)
    assert seen[-1] == 2


CHILD = """
import os, sys, time
import django
django.setup()
from django.conf import settings
settings.DATABASES["default"]["NAME"] = sys.argv[1]
from django.db import connections
connections["default"].settings_dict["NAME"] = sys.argv[1]
from gallery_ops.kernel import clock, register
register._loaded.append(True)
from gallery_ops.kernel.services import work
from gallery_ops.kernel.services.alerts import Wanted, sync_alerts
from datetime import datetime, UTC

@register.job("alarm")
def alarm(showroom, subject, at):
    wanted = {str(n): Wanted("A", "item", str(n), "s") for n in range(5)}
    sync_alerts(showroom=showroom, kind="alarm", wanted=wanted, at=at)
    print("half", flush=True)
    time.sleep(60)

work.run_due(at=datetime.fromisoformat(sys.argv[2]))
"""


@pytest.mark.django_db(transaction=True)
def test_a_worker_killed_in_the_middle_leaves_each_alert_once(knocks: list[str]) -> None:
    from gallery_ops.kernel.models import Alert
    from gallery_ops.kernel.services.alerts import Wanted, sync_alerts

    showroom = a_showroom()
    want_work(showroom, "alarm", at=AT)
    environment = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "gallery_ops.settings",
        "GALLERY_OPS_DATA": str(settings.DATA_DIR),
        "PYTHONPATH": str(settings.BASE_DIR),
    }
    child = subprocess.Popen(
        [sys.executable, "-c", CHILD, str(connection.settings_dict["NAME"]), AT.isoformat()],
        stdout=subprocess.PIPE,
        env=environment,
        text=True,
    )
    try:
        assert child.stdout is not None
        assert child.stdout.readline() == "half\n"
    finally:
        child.send_signal(signal.SIGKILL)
        child.communicate(timeout=20)

    @register.job("alarm")
    def alarm(showroom: Showroom, subject: str, at: datetime) -> None:
        wanted = {str(n): Wanted("A", "item", str(n), "s") for n in range(5)}
        sync_alerts(showroom=showroom, kind="alarm", wanted=wanted, at=at)

    assert Alert.objects.count() == 5
    assert work.run_due(at=AT + MINUTE) == 0
    assert work.give_back_stuck(at=AT + 11 * MINUTE) == 1
    assert work.run_due(at=AT + 11 * MINUTE) == 1
    assert Alert.objects.count() == 5
    assert WorkItem.objects.get().done_at == AT + 11 * MINUTE
