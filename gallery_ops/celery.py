"""Who wakes the worker? The Celery app; web/apps.py loads it in every process.

Messages carry no content: what must happen is a row in the database (kernel/services/work.py).
"""

import os

from celery import Celery
from celery.beat import BeatLazyFunc
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gallery_ops.settings")

HEARTBEAT_S = 15
SWEEP_S = 30

TRANSPORT_ALIASES["filesystem"] = "gallery_ops.kernel.file_queue:Transport"

app = Celery("gallery_ops")
app.config_from_object("django.conf:settings", namespace="CELERY")
# Without this, web threads other than the first would talk to an unset broker.
app.set_default()
app.autodiscover_tasks(["gallery_ops.kernel"], related_name="worker")


def planned_time() -> str:
    """The moment at which beat sends, ISO 8601 in UTC; it also notes that beat lives."""
    from gallery_ops.kernel import worker

    return worker.planned_time()


app.conf.beat_schedule = {
    "heartbeat": {
        "task": "gallery_ops.kernel.worker.heartbeat",
        "schedule": HEARTBEAT_S,
        "kwargs": {"planned_at": BeatLazyFunc(planned_time)},
        "options": {"expires": 60},
    },
    "sweep": {
        "task": "gallery_ops.kernel.worker.sweep",
        "schedule": SWEEP_S,
        "options": {"expires": 60},
    },
}
