"""Does one run about the whole answer what waits about its parts, and lose nothing?"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from gallery_ops.kernel import register
from gallery_ops.kernel.models import Showroom, WorkItem
from gallery_ops.kernel.queries.health import waiting_work
from gallery_ops.kernel.services import work
from gallery_ops.kernel.services.work import answering_parts, want_all, want_work
from tests.builders.people import AT, a_showroom

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)
PARTS = ("container:1", "container:2", "item:9")
Done = list[tuple[str, datetime]]


def whole(done: Done, breaks: bool = False, meanwhile: str = "") -> None:
    """A job that answers its parts where it is asked for the whole."""

    @register.job("forecast")
    def forecast(showroom: Showroom, subject: str, at: datetime) -> None:
        if subject:
            done.append((subject, at))
            return
        with answering_parts(showroom, "forecast", at=at) as moment:
            done.append(("", moment))
            if meanwhile:
                want_work(showroom, "forecast", meanwhile, at=at)
            if breaks:
                raise RuntimeError("no luck")


def test_the_whole_goes_first_and_its_parts_are_done_with_it(showroom: Showroom) -> None:
    done: Done = []
    whole(done)
    other = a_showroom(code="other")
    want_all(showroom, "forecast", PARTS, at=AT)
    want_all(other, "forecast", PARTS[:1], at=AT)
    want_work(showroom, "forecast", at=AT + MINUTE)
    assert work.run_due(at=AT + 2 * MINUTE, showroom=showroom) == 1
    assert done == [("", AT + 2 * MINUTE)]
    assert (waiting_work(showroom, at=AT + MINUTE), waiting_work(other, at=AT + MINUTE)) == (0, 1)


def test_a_part_that_is_wanted_meanwhile_or_not_due_yet_is_still_done(showroom: Showroom) -> None:
    done: Done = []
    whole(done, meanwhile="container:2")
    want_all(showroom, "forecast", PARTS[:2], at=AT)
    want_work(showroom, "forecast", PARTS[2], at=AT, due_at=AT + 5 * MINUTE)
    want_work(showroom, "forecast", at=AT)
    assert work.run_due(at=AT + MINUTE) == 2
    assert [subject for subject, _ in done] == ["", "container:2"]
    assert work.run_due(at=AT + 5 * MINUTE) == 1
    assert done[-1][0] == "item:9"


@pytest.mark.django_db(transaction=True)
def test_the_run_knows_what_the_newest_part_knew(showroom: Showroom) -> None:
    done: Done = []
    whole(done)
    want_work(showroom, "forecast", PARTS[0], at=AT)
    want_work(showroom, "forecast", PARTS[0], at=AT + 9 * MINUTE)
    want_work(showroom, "forecast", at=AT)
    work.run_due(at=AT + MINUTE)
    assert done == [("", AT + 9 * MINUTE)], "a worker whose clock is behind hides no fact"


def test_where_the_run_fails_its_parts_are_tried_again(showroom: Showroom) -> None:
    done: Done = []
    whole(done, breaks=True)
    want_all(showroom, "forecast", PARTS, at=AT)
    want_work(showroom, "forecast", at=AT)
    work.run_due(at=AT)
    rows = WorkItem.objects.filter(done_at=None, taken_at=None)
    assert rows.count() == 4
    assert set(rows.values_list("error", flat=True)) == {"RuntimeError: no luck"}
