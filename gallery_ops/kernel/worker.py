"""What runs in the background? The only tasks that messages name: run_work, sweep and heartbeat.

Messages carry no content; the rows say what must be done. A message may be lost, late or come
twice.
"""

from __future__ import annotations

import logging

from celery import shared_task
from django.db import close_old_connections

from gallery_ops.kernel import clock
from gallery_ops.kernel.queries.health import BEAT, WORKER
from gallery_ops.kernel.services import work
from gallery_ops.kernel.services.health import note_alive

log = logging.getLogger(__name__)


@shared_task(name="gallery_ops.kernel.worker.run_work", ignore_result=True)
def run_work() -> None:
    """Do what is due: somebody knocked."""
    note_alive(kind=WORKER, at=clock.now())
    work.run_due(at=clock.now())


@shared_task(name="gallery_ops.kernel.worker.sweep", ignore_result=True)
def sweep() -> None:
    """Do what no message announced: give back stuck rows, want what is wanted regularly, do it."""
    at = clock.now()
    note_alive(kind=WORKER, at=at)
    work.give_back_stuck(at=at)
    work.want_periodic(at=at)
    work.run_due(at=clock.now())
    work.forget_done(at=at)


@shared_task(name="gallery_ops.kernel.worker.heartbeat", ignore_result=True)
def heartbeat(planned_at: str = "") -> None:
    """The worker lives; ``planned_at`` is when the beat sent this (ISO 8601)."""
    at = clock.now()
    planned = clock.begin(planned_at) if planned_at else None
    note_alive(kind=WORKER, at=at, planned_at=planned)
    if planned is not None:
        note_alive(kind=BEAT, at=planned)


def planned_time() -> str:
    """The beat calls this itself when it sends a heartbeat: it lives, whatever a worker does."""
    at = clock.now()
    try:
        close_old_connections()
        note_alive(kind=BEAT, at=at)
    except Exception:  # a database that is away must not stop the beat; it says so and goes on
        log.exception("beat.no_note")
    return at.isoformat()
