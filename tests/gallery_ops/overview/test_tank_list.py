"""Does a page of the list say the same of a tank as the wall does, and cost only its own rows?"""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.overview.fleet import tank_list
from gallery_ops.overview.walk_state import walk_state
from maintenance.models import DueTask
from maintenance.services.completions import complete
from tanks.services.layouts import close_layout
from tests.builders.fleet import AT, a_fleet

pytestmark = pytest.mark.django_db


def test_the_pages_together_are_the_walk() -> None:
    fleet = a_fleet(23)
    gone = fleet.tanks[4].layouts.get()
    close_layout(layout=gone, by=fleet.owner, at=AT)
    looks = DueTask.objects.of(fleet.showroom).filter(template__key="look", tank=fleet.tanks[2])
    complete(due_task=looks.get(due_on=AT.date()), by=fleet.owner, at=AT)

    walk = walk_state(fleet.showroom, AT)
    pages = [tank_list(fleet.showroom, AT, str(n), 10) for n in (1, 2, 3)]
    listed = [tank for page in pages for tank in page.tanks]
    for mine, wanted in zip(listed, walk.tanks, strict=True):
        assert mine.now == wanted.now
        assert (mine.state, mine.done, mine.of, mine.seen_at, mine.seen_by) == (
            wanted.state, wanted.done, wanted.of, wanted.seen_at, wanted.seen_by,
        )  # fmt: skip
        assert mine.alerts == wanted.alerts
    assert any(tank.alerts for tank in listed)
    assert (pages[0].count, pages[0].seen, pages[0].to_see) == (23, 1, walk.to_see)
    assert pages[0].to_see == 22


@pytest.mark.once
def test_a_page_asks_as_often_for_forty_tanks_as_for_ten() -> None:
    counts = []
    for size, code in ((10, "few"), (40, "many")):
        showroom = a_fleet(size, code).showroom
        with CaptureQueriesContext(connection) as asked:
            assert len(tank_list(showroom, AT, "1", 10).tanks) == 10
        counts.append(len(asked))
    assert counts[0] == counts[1]
