"""The program's own Celery app with one change: the alert job stands still in its middle.

HALT_IN says where: ``inside`` its transaction, when new alerts are written and old ones are not
closed yet, or ``after`` it, when all is committed and the row of work is not done yet. HALT_FILE is
written when it stands still. Only the tests of this folder start it.
"""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

from celery.signals import worker_init

from gallery_ops.celery import app

__all__ = ["app"]


def _stand_still() -> None:
    Path(os.environ["HALT_FILE"]).write_text("here", encoding="ascii")
    time.sleep(600)


@worker_init.connect
def _halt(**_more: Any) -> None:
    from gallery_ops.kernel.services import alerts, work

    alter, finish = alerts._alter, work.finish

    def alter_and_halt(known: Any, wanted: Any) -> Any:
        found = alter(known, wanted)
        if any(key.startswith("overdue:") for key in wanted):
            _stand_still()
        return found

    def halt_and_finish(item: Any, **when: Any) -> None:
        if item.kind == "overdue":
            _stand_still()
        finish(item, **when)

    if os.environ["HALT_IN"] == "inside":
        alerts._alter = alter_and_halt
    else:
        work.finish = halt_and_finish
