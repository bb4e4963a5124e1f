"""Does every write to our own tables go through a service? Watched while real requests run.

The syntax trees cannot see every write (a loop over rows, a form, a library). This wrapper sits on
the test's connection: a statement that changes one of our tables, called from a page, an endpoint,
a job or a tablet action without a frame of a `services/` file in between, fails the test.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.db import DatabaseError

from tests import asked

HOUSE = str(Path(__file__).resolve().parents[1]) + "/"
OWN_TABLES = re.compile(
    r"^\s*(?:INSERT\s+(?:OR\s+\w+\s+)?INTO|UPDATE|DELETE\s+FROM)\s+\"?"
    r"((?:kernel|tanks|inventory|maintenance)_\w+)",
    re.IGNORECASE,
)
DOORS = re.compile(
    r"^(?:gallery_ops/(?:web|api)/|gallery_ops/kernel/worker\.py|[a-z_/]*/jobs\.py|jobs\.py"
    r"|(?:inventory|maintenance|tanks)/jobs\.py|maintenance/actions/)"
)
# Django itself notes when a person signed in.
BY_DJANGO = "django/contrib/auth/models.py"


class WroteWithoutService(AssertionError):
    """Names the table and the door that wrote to it."""


def door_without_service(frame: Any) -> str | None:
    """The innermost door in the call stack when no service stands in it; else None."""
    door = None
    while frame is not None:
        path = frame.f_code.co_filename
        if path.endswith(BY_DJANGO):
            return None
        if path.startswith(HOUSE):
            inner = path[len(HOUSE) :]
            if "/services/" in inner or inner.startswith("tests/"):
                return door if inner.startswith("tests/") else None
            if door is None and DOORS.match(inner):
                door = f"{inner}:{frame.f_lineno}"
        frame = frame.f_back
    return door


def watch_writes(
    execute: Callable[..., Any], sql: str, params: Any, many: bool, context: dict[str, Any]
) -> Any:
    """For `connection.execute_wrapper`."""
    here = sys._getframe(1)
    if table := OWN_TABLES.match(sql):
        door = door_without_service(here)
        if door:
            raise WroteWithoutService(f"{door} wrote to {table.group(1)}; call a service.")
    asked.note(here)
    try:
        return execute(sql, params, many, context)
    except DatabaseError as error:
        asked.note(here, type(error).__name__)
        raise
