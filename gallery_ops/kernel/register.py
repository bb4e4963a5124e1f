"""Which code does the work of which kind? Each app registers its handlers in its ``jobs.py``.

    @job("overdue", every_s=300)
    def overdue(showroom: Showroom, subject: str, at: datetime) -> None: ...

A handler may run twice, at the same time, late, or be killed at any line: it calls one service that
makes what is stored equal to what should be. It opens its own transactions, and none around a long
computation. With ``every_s`` the sweep wants it for each showroom at least that often, without
subject.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.module_loading import autodiscover_modules

Handler = Callable[[Any, str, datetime], None]
"""Called with the showroom, the subject (may be empty) and the instant (aware)."""


@dataclass(frozen=True, slots=True)
class Job:
    """One kind of work: its handler, and how often it is wanted without a cause [s]."""

    kind: str
    handler: Handler
    every_s: int | None = None


_jobs: dict[str, Job] = {}
_loaded: list[bool] = []


def job(kind: str, *, every_s: int | None = None) -> Callable[[Handler], Handler]:
    """Register the decorated function as the handler of this kind. Raises ValueError for a
    second."""

    def register(handler: Handler) -> Handler:
        known = _jobs.get(kind)
        if known is not None and known.handler is not handler:
            raise ValueError(f"{kind} has a handler already: {known.handler.__module__}.")
        if every_s is not None and every_s < 1:
            raise ValueError(f"{kind}: every_s must be at least 1 s.")
        _jobs[kind] = Job(kind, handler, every_s)
        return handler

    return register


def find(kind: str) -> Job | None:
    """The job of this kind, None when no app has one."""
    load()
    return _jobs.get(kind)


def periodic() -> tuple[Job, ...]:
    """The jobs that are wanted every so often."""
    load()
    return tuple(one for one in _jobs.values() if one.every_s is not None)


def load() -> None:
    """Import every app's ``jobs`` module, once."""
    if not _loaded:
        autodiscover_modules("jobs")
        _loaded.append(True)
