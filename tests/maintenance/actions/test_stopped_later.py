"""Giving was stopped by an emergency: also for what is moved there, put right, or told of late."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import WorkItem
from gallery_ops.kernel.queries.alerts import open_alerts
from gallery_ops.overview.incident_page import incident_page
from inventory.models import Use
from maintenance.actions import settle
from maintenance.actions.apply import Answer
from maintenance.models import Incident, Verdict
from maintenance.queries.given_stopped import given_while_stopped
from maintenance.services import given_alerts
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer

built, m = built_once(a_morning)
pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)
UID = "01956c3e-0000-7000-8000-000000000001"


def opened(m: Morning, tank: str = "T01", minutes: int = 0, at: int | None = None) -> Answer:
    place = {"kind": "tank", "key": tank}
    said = {"incident": UID, "card": "gasping", "drill": False, "place": place}
    arrives = AT + (minutes if at is None else at) * MINUTE
    return m.say("incident_open", said, done_at=AT + minutes * MINUTE, at=arrives)


def over(m: Morning, minutes: int, at: int) -> Answer:
    said = {"incident": UID, "card": "gasping", "drill": False, "how": "over",
            "decided_by": "Maud Ellerkamp"}  # fmt: skip
    return m.say("incident_close", said, done_at=AT + minutes * MINUTE, at=AT + at * MINUTE)


def moved(m: Morning, what: Answer, tank: str, minutes: int, **fields: Any) -> Answer:
    body = {"moves": what.action_id, "tank": tank, "reason": "I stood at the wrong tank."}
    at = AT + minutes * MINUTE
    return m.say("move_record", body, corrects=what.action_id, done_at=at, at=at, **fields)


def amended(m: Morning, what: Answer, minutes: int, **changes: Any) -> Answer:
    body = {"amends": what.action_id, "changes": changes, "reason": "typed wrong"}
    at = AT + minutes * MINUTE
    return m.say("amend", body, corrects=what.action_id, done_at=at, at=at)


def verdict_of(answer: Answer) -> Verdict:
    found = Verdict.objects.filter(action__action_id=answer.action_id).order_by("-pk").first()
    assert found is not None
    return found


def given(m: Morning) -> dict[str, int]:
    codes = {tank.pk: code for code, tank in m.house.tanks.items()}
    return {codes[use.tank_id]: use.given_base for use in Use.objects.standing()}


def test_a_dose_or_food_moved_to_a_stopped_tank_waits_and_stays_where_it_was(m: Morning) -> None:
    opened(m, "T02", minutes=1)
    dose = m.dose(done_at=AT + 2 * MINUTE, at=AT + 2 * MINUTE)
    fields = {**m.at_stop("feed"), "done_at": AT + 2 * MINUTE, "at": AT + 2 * MINUTE}
    food = m.say("feed", m.feed_body(), **fields)
    assert (dose.verdict, food.verdict) == ("accepted", "accepted")
    for what in (dose, food):
        held = moved(m, what, "T02", 5)
        assert (held.verdict, held.reason) == ("held", "stopped"), held
    assert {use.tank.pk for use in Use.objects.standing()} == {m.house.tanks["T01"].pk}
    over(m, 9, 9)
    assert moved(m, dose, "T02", 10).reason == "stopped", "it was given while it was open"


def test_an_amount_put_right_of_what_was_given_while_stopped_waits_too(m: Morning) -> None:
    dose = m.dose(done_at=AT + 2 * MINUTE, at=AT + 2 * MINUTE)
    opened(m, "T01", minutes=1, at=4)
    held = amended(m, dose, 5, given_ul=3500)
    assert (held.verdict, held.reason) == ("held", "stopped")
    assert given(m) == {"T01": 3000}
    settle.accept(verdict=verdict_of(held), by=m.house.owner, at=AT + 6 * MINUTE)
    assert given(m) == {"T01": 3500}


def test_what_was_given_before_is_put_right_while_it_is_open(m: Morning) -> None:
    dose = m.dose()
    opened(m, "T01", minutes=1)
    assert amended(m, dose, 5, given_ul=3500).verdict == "accepted"


def test_two_things_in_the_way_are_let_pass_by_one_person_one_after_the_other(m: Morning) -> None:
    opened(m, "T02", minutes=1)
    dose = m.dose(done_at=AT + 2 * MINUTE, at=AT + 2 * MINUTE)
    other = a_carer(m.house, "Odile Marsh", "C1")
    held = moved(m, dose, "T02", 5, person_id=str(other.person.uid))
    assert held.reason == "needs_senior"
    settle.accept(verdict=verdict_of(held), by=m.house.owner, at=AT + 6 * MINUTE)
    assert (verdict_of(held).outcome, verdict_of(held).code) == ("held", "stopped")
    assert given(m) == {"T01": 3000}
    settle.accept(verdict=verdict_of(held), by=m.house.owner, at=AT + 7 * MINUTE)
    assert given(m) == {"T02": 3000}


def test_an_amount_put_right_far_above_its_plan_counts_by_whoever_may_override(m: Morning) -> None:
    dose = m.dose()
    held = amended(m, dose, 5, given_ul=18_000)
    assert held.reason == "out_of_range"
    settle.accept(verdict=verdict_of(held), by=m.house.owner, at=AT + 6 * MINUTE)
    assert given(m) == {"T01": 18_000}
    back = moved(m, held, "T02", 7)
    assert back.reason == "out_of_range"
    settle.accept(verdict=verdict_of(back), by=m.house.owner, at=AT + 8 * MINUTE)
    assert given(m) == {"T02": 18_000}


def asked(m: Morning, minutes: int) -> list[str]:
    showroom, at = m.house.showroom, AT + minutes * MINUTE
    given_alerts.review(showroom, at)
    return [alert.sentence for alert in open_alerts(showroom, kind="given_stopped")]


def test_a_card_that_arrives_after_the_dose_shows_it_and_changes_nothing(m: Morning) -> None:
    dose = m.dose(done_at=AT + 5 * MINUTE, at=AT + 5 * MINUTE)
    m.dose(tank="T02", done_at=AT + 5 * MINUTE, at=AT + 5 * MINUTE)
    before = list(Use.objects.order_by("pk").values())
    assert asked(m, 6) == []
    opened(m, "T01", minutes=2, at=90)
    over(m, 30, 91)
    assert WorkItem.objects.filter(kind="given_stopped", done_at=None).exists()
    (sentence,) = asked(m, 92)
    assert sentence == (
        "T01: 3 mL of complete fertiliser at 08:13 by Bram Tolliver, "
        "while “Animals gasping” had stopped giving."
    )
    assert list(Use.objects.order_by("pk").values()) == before
    page = incident_page(m.house.showroom, Incident.objects.get().uid, AT + 92 * MINUTE, "en")
    assert [(one.code, one.given.what, one.given.let_pass_by) for one in page.given] == [
        ("T01", "3 mL of complete fertiliser", "")
    ]
    m.undo(dose, at=AT + 93 * MINUTE, done_at=AT + 6 * MINUTE)
    assert asked(m, 94) == []


def test_what_somebody_let_count_is_shown_with_the_name_and_not_asked_about(m: Morning) -> None:
    opened(m, "T01")
    held = m.dose(done_at=AT + MINUTE, at=AT + MINUTE)
    settle.accept(verdict=verdict_of(held), by=m.house.owner, at=AT + 2 * MINUTE)
    (rows,) = given_while_stopped(m.house.showroom, Incident.objects.all()).values()
    assert [row.let_pass_by for row in rows] == ["Maud Ellerkamp"]
    assert asked(m, 3) == []


@pytest.mark.once
def test_it_is_asked_about_for_two_days_and_in_as_many_queries_for_many(m: Morning) -> None:
    m.dose(done_at=AT + 5 * MINUTE, at=AT + 5 * MINUTE)
    told = {"task": str(m.task("feed").uid), "minutes": None, "answers": {}}
    fields = {"done_at": AT + 6 * MINUTE, "at": AT + 6 * MINUTE}
    assert m.say("complete", told, **m.at_stop("feed"), **fields).verdict == "accepted"

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            given_while_stopped(m.house.showroom, list(Incident.objects.all()))
        return len(seen)

    opened(m, "T01", minutes=2, at=90)
    one = queries()
    for n in range(20):
        m.dose(
            tank="T01", body={"again": {"earlier": None, "reason": "meant"}}, done_at=AT + MINUTE
        )
        uid = f"01956c3e-0000-7000-8000-0000000001{n:02}"
        said = {
            "incident": uid,
            "card": "gasping",
            "drill": False,
            "place": {"kind": "gallery", "key": None},
        }
        m.say("incident_open", said, done_at=AT + n * MINUTE, at=AT + 90 * MINUTE)
    assert queries() == one
    assert any("And" in sentence for sentence in asked(m, 91))
    assert asked(m, 91 + 2 * 24 * 60) == []
