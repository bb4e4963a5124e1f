"""A tablet's clock is slow, is set back during the round, or lives through nights of the change.

Source of the nights: the IANA time zone database, Europe/London 2026: forward on 29 March at 01:00
UTC, back on 25 October at 01:00 UTC.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from gallery_ops.kernel.values.day import business_day
from inventory.models import Use
from maintenance.actions.apply import Sender, apply_batch
from maintenance.models import Action
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning

pytestmark = pytest.mark.django_db
built, morning = built_once(a_morning)
BOOT = "019526a1-0000-7000-8000-000000000009"
HOUR_MS = 3_600_000


def send(morning: Morning, actions: list[Any], *, sent_at: datetime, monotonic_ms: int) -> None:
    sender = Sender(
        showroom=morning.house.showroom, device=morning.tablet, boot_id=BOOT,
        monotonic_ms=monotonic_ms,
    )  # fmt: skip
    answers, _received = apply_batch(sender=sender, actions=actions, sent_at=sent_at, at=AT)
    assert {answer.verdict for answer in answers} == {"accepted"}


def note(morning: Morning, wall: datetime, monotonic_ms: int, boot: str = BOOT) -> dict[str, Any]:
    return morning.action(
        "note", {"text": "x"}, done_at=wall, monotonic_ms=monotonic_ms, boot_id=boot
    )


def corrected() -> list[datetime]:
    return list(Action.objects.order_by("seq").values_list("done_at_corrected", flat=True))


def test_a_wall_clock_set_back_during_the_round_moves_nothing(morning: Morning) -> None:
    # entered 60 and 30 minutes ago; between them the wall clock was set back by three hours
    first = note(morning, AT - timedelta(minutes=60), 0)
    second = note(morning, AT - timedelta(hours=3, minutes=30), HOUR_MS // 2)
    send(morning, [first, second], sent_at=AT - timedelta(hours=3), monotonic_ms=HOUR_MS)
    assert corrected() == [AT - timedelta(minutes=60), AT - timedelta(minutes=30)]


def test_a_count_that_stood_still_while_the_tablet_slept_shortens_nothing(morning: Morning) -> None:
    send(morning, [note(morning, AT - timedelta(hours=5), 1000)], sent_at=AT, monotonic_ms=61_000)
    assert corrected() == [AT - timedelta(hours=5)]


def test_another_opening_of_the_page_and_a_count_that_cannot_be_say_nothing(
    morning: Morning,
) -> None:
    other = "019526a1-0000-7000-8000-000000000008"
    wall = AT - timedelta(minutes=20)
    actions = [note(morning, wall, 0, other), note(morning, wall, 2 * HOUR_MS)]
    send(morning, actions, sent_at=AT, monotonic_ms=HOUR_MS)
    assert corrected() == [wall, wall]


def test_three_hours_slow_by_both_clocks(morning: Morning) -> None:
    slow = note(morning, AT - timedelta(hours=3, minutes=10), 0)
    send(morning, [slow], sent_at=AT - timedelta(hours=3), monotonic_ms=600_000)
    assert corrected() == [AT - timedelta(minutes=10)]


NIGHTS = [
    # said by the tablet, in UTC, business day (cut-off 04:00 by the clock on the wall)
    ("2026-03-29T00:59:00+00:00", datetime(2026, 3, 29, 0, 59, tzinfo=UTC), "2026-03-28"),
    ("2026-03-29T02:01:00+01:00", datetime(2026, 3, 29, 1, 1, tzinfo=UTC), "2026-03-28"),
    ("2026-03-29T04:00:00+01:00", datetime(2026, 3, 29, 3, 0, tzinfo=UTC), "2026-03-29"),
    ("2026-10-25T01:30:00+01:00", datetime(2026, 10, 25, 0, 30, tzinfo=UTC), "2026-10-24"),
    ("2026-10-25T01:30:00+00:00", datetime(2026, 10, 25, 1, 30, tzinfo=UTC), "2026-10-24"),
    ("2026-10-25T03:59:00+00:00", datetime(2026, 10, 25, 3, 59, tzinfo=UTC), "2026-10-24"),
    ("2026-10-25T04:00:00+00:00", datetime(2026, 10, 25, 4, 0, tzinfo=UTC), "2026-10-25"),
]


def test_the_nights_of_the_change_keep_order_and_business_day(morning: Morning) -> None:
    showroom = morning.house.showroom
    for said, moment, day in NIGHTS:
        sender = Sender(showroom=showroom, device=morning.tablet)
        action = {**note(morning, AT, 0), "done_at": said}
        answers, _received = apply_batch(sender=sender, actions=[action], sent_at=moment, at=moment)
        assert answers[0].verdict == "accepted", said
        assert str(business_day(moment, showroom.tz, showroom.cut_off_hour)) == day, said
    assert corrected() == [moment for _said, moment, _day in NIGHTS]
    assert showroom.tz == ZoneInfo("Europe/London")


def test_a_dose_in_the_doubled_hour_stands_on_its_own_evening(morning: Morning) -> None:
    evening = datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    action = morning.action("dose", morning.dose_body(), **morning.at_stop("dose"))
    action["done_at"] = "2026-10-25T01:30:00+00:00"
    sender = Sender(showroom=morning.house.showroom, device=morning.tablet)
    apply_batch(sender=sender, actions=[action], sent_at=evening, at=evening)
    assert str(Use.objects.get().business_on) == "2026-10-24"
