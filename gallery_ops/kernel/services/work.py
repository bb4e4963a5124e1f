"""What must still be done, and who does it? The row is the truth; a message only wakes somebody.

A service that wrote a fact wants what depends on it (``want_work``), in the same transaction. After
commit one message without content wakes a worker, which takes rows by conditional update. A lost
message costs nothing but time: the sweep finds the row. A killed worker leaves its row taken; the
sweep gives it back. Wanting locks the row, so a fact is never hidden from the run that was to see
it: that run either waits for the commit, or the row is due once more. A transaction that has wanted
something holds its row until it ends, so wanting it again there costs nothing.
"""

from __future__ import annotations

import logging
import secrets
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

from celery import current_app
from django.db import IntegrityError, connection, transaction
from django.db.models import Case, F, IntegerField, Q, When
from django.db.models.functions import Coalesce, Greatest, Least

from gallery_ops.kernel import clock, register
from gallery_ops.kernel.models import Showroom, WorkItem

log = logging.getLogger(__name__)

_quiet_until = [0.0]

WAKE_TASK = "gallery_ops.kernel.worker.run_work"
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(hours=1)
STUCK_AFTER = timedelta(minutes=10)
KEPT_FOR = timedelta(days=7)
LONGEST_ERROR = 1000
LONGEST_SUBJECT = 80
MOST_ATTEMPTS = 10
QUIET_S = 30.0
WHOLE_FIRST = Case(When(subject="", then=0), default=1, output_field=IntegerField())


def want_work(
    showroom: Showroom,
    kind: str,
    subject: str = "",
    *,
    at: datetime | None = None,
    due_at: datetime | None = None,
) -> None:
    """Say that work of this kind about this subject is due. Saying it twice is saying it once.

    Parameters
    ----------
    kind : such as ``forecast``; its handler is registered in an app's ``jobs.py``
    subject : key of what it is about, at most 80 characters, empty for the whole showroom
    at : the instant (aware) of the deed that wants it; the clock's, if left out
    due_at : not before this instant, if it is to wait
    """
    if len(subject) > LONGEST_SUBJECT:
        raise ValueError(f"A subject has at most {LONGEST_SUBJECT} characters: {subject}")
    wanted_at = at or clock.now()
    due = due_at or wanted_at
    key = (showroom.pk, kind, subject)
    if _wanted_here(key, due):
        return
    with transaction.atomic():
        for attempt in range(1, MOST_ATTEMPTS + 1):
            if _want_again(showroom, kind, subject, wanted_at, due):
                break
            try:
                with transaction.atomic():
                    WorkItem.objects.create(
                        showroom=showroom,
                        kind=kind,
                        subject=subject,
                        wanted_at=wanted_at,
                        due_at=due,
                    )
                break
            except IntegrityError:
                # another transaction wanted the same just now: lock its row in the next turn
                if attempt == MOST_ATTEMPTS:
                    raise
    _remember(key, due)


def want_all(
    showroom: Showroom, kind: str, subjects: Iterable[str], *, at: datetime | None = None
) -> None:
    """Want the same kind of work about many subjects, locking in one order."""
    with transaction.atomic():
        for subject in sorted(set(subjects)):
            want_work(showroom, kind, subject, at=at)


def want_periodic(*, at: datetime) -> int:
    """Want, for every showroom, each periodic job that was not done for its time; how many."""
    jobs = register.periodic()
    if not jobs:
        return 0
    fresh = Q()
    for job in jobs:
        since = at - timedelta(seconds=job.every_s or 0)
        fresh |= Q(kind=job.kind) & (Q(done_at=None) | Q(done_at__gt=since))
    lately = set(
        WorkItem.objects.filter(fresh, subject="").values_list("showroom_id", "kind").distinct()
    )
    wanted = 0
    for showroom in Showroom.objects.order_by("pk"):
        for job in jobs:
            if (showroom.pk, job.kind) not in lately:
                want_work(showroom, job.kind, at=at)
                wanted += 1
    return wanted


def run_due(
    *,
    at: datetime,
    limit: int = 500,
    showroom: Showroom | None = None,
    kinds: Iterable[str] | None = None,
) -> int:
    """Do what is due, oldest first; how many pieces were done (also those that failed).

    What is about a whole showroom comes before its parts, since it may answer them.

    Parameters
    ----------
    at : the instant (aware) that decides what is due; handlers get it, or the moment at which
        the piece was last wanted if that is later
    limit : most pieces in one call
    showroom, kinds : only of this showroom, only of these kinds
    """
    due = WorkItem.objects.filter(done_at=None, taken_at=None, due_at__lte=at)
    if showroom is not None:
        due = due.of(showroom)
    if kinds is not None:
        due = due.filter(kind__in=list(kinds))
    done = 0
    while done < limit:
        waiting = list(
            due.order_by(WHOLE_FIRST, "due_at", "pk").values_list("pk", flat=True)[
                : min(20, limit - done)
            ]
        )
        mine = [pk for pk in waiting if _do(pk, at)]
        done += len(mine)
        if not mine:
            break
    return done


@contextmanager
def answering_parts(showroom: Showroom, kind: str, *, at: datetime) -> Iterator[datetime]:
    """What is due about parts of a showroom is answered by one run about the whole of it.

    Gives the moment of the run: ``at``, or when a part was wanted last if that is later. The parts
    are taken before the run reads anything, and handed back as the worker does: one that is wanted
    again meanwhile is due again, and all of them are when the run fails.
    """
    waiting = WorkItem.objects.of(showroom).filter(kind=kind, done_at=None, taken_at=None)
    keys = list(waiting.exclude(subject="").order_by("pk").values_list("pk", flat=True))
    mine = [item for item in (take(pk, at=at) for pk in keys) if item is not None]
    try:
        yield max([at, *(item.wanted_at for item in mine)])
    except Exception as error:
        for item in mine:
            fail(item, error, at=at)
        raise
    for item in mine:
        finish(item, at=at)


def give_back_stuck(*, at: datetime, after: timedelta = STUCK_AFTER) -> int:
    """Make rows due again whose worker took them long ago and never came back; how many."""
    back: int = WorkItem.objects.filter(done_at=None, taken_at__lte=at - after).update(
        taken_at=None, taken_by="", due_at=at, error="The worker stopped in the middle."
    )
    if back:
        log.warning("work.given_back", extra={"rows": back})
    return back


def forget_done(*, at: datetime, kept_for: timedelta = KEPT_FOR) -> int:
    """Delete rows that were done long ago; how many."""
    gone, _per_model = WorkItem.objects.filter(done_at__lte=at - kept_for).delete()
    return int(gone)


def take(pk: int, *, at: datetime) -> WorkItem | None:
    """Take a due row, so that nobody else does it; None when somebody was quicker.

    Its ``wanted_at`` is then the last moment at which somebody wanted it.
    """
    mark = secrets.token_hex(16)
    taken = WorkItem.objects.filter(pk=pk, done_at=None, taken_at=None, due_at__lte=at).update(
        taken_at=at,
        taken_by=mark,
        tries=F("tries") + 1,
        wanted_at=Greatest(F("wanted_at"), Coalesce(F("wanted_again_at"), F("wanted_at"))),
        wanted_again_at=None,
    )
    if not taken:
        return None
    _forget()
    item: WorkItem | None = (
        WorkItem.objects.select_related("showroom").filter(pk=pk, taken_by=mark).first()
    )
    return item


def finish(item: WorkItem, *, at: datetime) -> None:
    """The row is done; if it was wanted again meanwhile, it is due once more."""
    _forget()
    mine = WorkItem.objects.filter(pk=item.pk, taken_by=item.taken_by, done_at=None)
    if not mine.filter(wanted_again_at=None).update(done_at=at, error=""):
        mine.update(taken_at=None, taken_by="", due_at=at, tries=0, error="")


def fail(item: WorkItem, error: BaseException, *, at: datetime) -> None:
    """Keep the error and try again later, each time after twice the wait, at most an hour."""
    _forget()
    wait = min(FIRST_WAIT * 2 ** min(item.tries - 1, 12), LONGEST_WAIT)
    words = f"{type(error).__name__}: {error}".replace("\x00", " ")
    WorkItem.objects.filter(pk=item.pk, taken_by=item.taken_by, done_at=None).update(
        taken_at=None, taken_by="", due_at=at + wait, error=words[:LONGEST_ERROR]
    )


def wake() -> None:
    """Knock at the worker's door. A broker that does not answer breaks nothing.

    After a failed knock this process does not try again for half a minute: each try may take
    seconds, and pages would wait for it.
    """
    if clock.ticks_s() < _quiet_until[0]:
        return
    try:
        current_app.send_task(WAKE_TASK, expires=60, retry=False)
    except Exception as error:  # whatever the broker's library raises: the sweep will find the row
        _quiet_until[0] = clock.ticks_s() + QUIET_S
        log.warning("work.no_knock", extra={"error": f"{type(error).__name__}: {error}"[:200]})


def _want_again(
    showroom: Showroom, kind: str, subject: str, wanted_at: datetime, due: datetime
) -> bool:
    open_row = WorkItem.objects.of(showroom).filter(kind=kind, subject=subject, done_at=None)
    return bool(open_row.update(wanted_again_at=wanted_at, due_at=Least(F("due_at"), due)))


class _Wants:
    """What a part of this transaction wants, and until when it may wait.

    It lives in the list of what is called after the commit, and so shares the fate of the rows: a
    savepoint that is rolled back takes it away too, and the end of the transaction ends it.
    """

    def __init__(self, has_knocked: list[bool]) -> None:
        self.due: dict[tuple[int, str, str], datetime] = {}
        self.has_knocked = has_knocked

    def knock(self) -> None:
        """One knock for a transaction, however much it wants."""
        if not self.has_knocked:
            self.has_knocked.append(True)
            wake()


def _wants() -> list[tuple[set[str], _Wants]]:
    """What this transaction wants so far, each with the savepoints it was wanted in."""
    owners = ((entry[0], getattr(entry[1], "__self__", None)) for entry in connection.run_on_commit)
    return [(savepoints, one) for savepoints, one in owners if isinstance(one, _Wants)]


def _wanted_here(key: tuple[int, str, str], due: datetime) -> bool:
    return any(key in one.due and one.due[key] <= due for _savepoints, one in _wants())


def _remember(key: tuple[int, str, str], due: datetime) -> None:
    found = _wants()
    here = set(connection.savepoint_ids)
    mine = next((one for savepoints, one in found if savepoints == here), None)
    if mine is None:
        mine = _Wants(found[0][1].has_knocked if found else [])
        transaction.on_commit(mine.knock, robust=True)
    mine.due[key] = due


def _forget() -> None:
    """A row has changed hands in this transaction: look at the rows again."""
    for _savepoints, one in _wants():
        one.due.clear()


def _do(pk: int, at: datetime) -> bool:
    item = take(pk, at=at)
    if item is None:
        return False
    job = register.find(item.kind)
    try:
        if job is None:
            raise LookupError(f"No app has a job of the kind {item.kind!r}.")
        # The clock of whoever wanted it may be ahead: their fact must not lie in the future here.
        job.handler(item.showroom, item.subject, max(at, item.wanted_at))
    except Exception as error:  # a failing job must not stop the others; its error is kept
        log.exception("work.failed", extra={"kind": item.kind, "subject": item.subject})
        fail(item, error, at=at)
    else:
        finish(item, at=at)
    return True
