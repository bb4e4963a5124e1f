"""Do worker and beat live, and what does it mean for people if they do not?

The worker does the work in the background, the beat calls for it. Each leaves a row with the time
at which it was last seen. The pages never wait for either: records are kept without them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.models import Heartbeat, Showroom, WorkItem

LATE_AFTER = timedelta(seconds=60)
STOPPED_AFTER = timedelta(seconds=180)
WORKER = "worker"
BEAT = "beat"
KINDS = (WORKER, BEAT)

State = Literal["ok", "late", "stopped", "never"]


@dataclass(frozen=True, slots=True)
class Pulse:
    """One process: how it is and what that means. ``sentence`` is empty while all is well."""

    kind: str
    state: State
    seen_at: datetime | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Health:
    """All processes. ``sentence`` is what a page says, empty while there is nothing to say."""

    pulses: tuple[Pulse, ...]

    @property
    def state(self) -> State:
        """The worst of all."""
        order: tuple[State, ...] = ("stopped", "never", "late", "ok")
        states = {pulse.state for pulse in self.pulses}
        return next(state for state in order if state in states)

    @property
    def stopped(self) -> bool:
        """Whether something has stood still for 180 s."""
        return self.state == "stopped"

    @property
    def sentence(self) -> str:
        """What a page says."""
        return " ".join(pulse.sentence for pulse in self.pulses if pulse.sentence)


def health(*, at: datetime) -> Health:
    """How worker and beat are at this instant (aware). One query."""
    seen = dict(Heartbeat.objects.filter(kind__in=KINDS).values_list("kind", "seen_at"))
    states = {kind: _state(seen.get(kind), at) for kind in KINDS}
    return Health(
        tuple(
            Pulse(kind, states[kind], seen.get(kind), _sentence(kind, states, seen.get(kind), at))
            for kind in KINDS
        )
    )


def waiting_work(showroom: Showroom, *, at: datetime) -> int:
    """How many pieces of work are due and not done."""
    count: int = WorkItem.objects.of(showroom).filter(done_at=None, due_at__lte=at).count()
    return count


def failing_work(showroom: Showroom) -> list[WorkItem]:
    """Work that failed and waits for its next try, the most tried first."""
    return list(
        WorkItem.objects.of(showroom)
        .filter(done_at=None)
        .exclude(error="")
        .order_by("-tries", "due_at")[:50]
    )


def _state(seen_at: datetime | None, at: datetime) -> State:
    if seen_at is None:
        return "never"
    silent = at - seen_at
    if silent >= STOPPED_AFTER:
        return "stopped"
    return "late" if silent >= LATE_AFTER else "ok"


def _sentence(kind: str, states: dict[str, State], seen_at: datetime | None, at: datetime) -> str:
    if states[kind] in {"ok", "late"}:
        return ""
    if kind == WORKER and states[BEAT] in {"stopped", "never"}:
        # nobody calls for the worker, so its silence says nothing; the beat's sentence is enough
        return ""
    if kind == WORKER:
        meaning = _(
            "The worker in the background stands still%(since)s: what you record is kept, "
            "but forecasts, reorder and overdue alerts are as old as that."
        )
    else:
        meaning = _(
            "The clock in the background stands still%(since)s: what you record is kept, "
            "but tasks of the coming days, overdue alerts and forecasts are not renewed by "
            "themselves."
        )
    return (
        meaning % {"since": _since(seen_at, at)}
        + " "
        + _("Go by the written plan and tell whoever runs the program to start it again.")
    )


def _since(seen_at: datetime | None, at: datetime) -> str:
    if seen_at is None:
        return _(" and has not been seen yet")
    minutes = int((at - seen_at) / timedelta(minutes=1))
    return ngettext(" for %(n)d min", " for %(n)d min", minutes) % {"n": minutes}
