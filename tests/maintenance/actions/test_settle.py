"""A person decides what an entry that waits shall count: with which right, and what follows."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from gallery_ops.kernel.errors import Forbidden, Held, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry, Membership
from inventory.models import Use
from maintenance.actions import settle
from maintenance.models import Completion, Observation, Verdict
from maintenance.queries.held import count_waiting, settled_lately, verdict_of, waiting_entries
from tanks.models import Reading
from tanks.services.catalogue import load_parameters
from tests.builders.gallery import a_person
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer

pytestmark = pytest.mark.django_db
LATER = AT + timedelta(minutes=20)
SIX_TIMES = 18_000


built, morning = built_once(a_morning)


@pytest.fixture
def senior(morning: Morning) -> Membership:
    return a_carer(morning.house, "Odile Marsh", "C1", role="senior_carer")


def waiting(morning: Morning) -> Verdict:
    (found,) = waiting_entries(morning.house.showroom)
    assert isinstance(found, Verdict)
    return found


def test_six_times_the_plan_waits_and_says_who_may_let_it_count(morning: Morning) -> None:
    answer = morning.dose(SIX_TIMES)
    assert (answer.verdict, answer.reason) == ("held", "out_of_range")
    assert "senior carer, manager, owner" in (answer.help or "")


def test_a_carer_cannot_let_it_count_and_a_senior_carer_can(
    morning: Morning, senior: Membership
) -> None:
    answer = morning.dose(SIX_TIMES)
    verdict = waiting(morning)
    with pytest.raises(Forbidden, match="far above its plan"):
        settle.accept(verdict=verdict, by=morning.carer, at=LATER)
    assert not Use.objects.exists()
    settle.accept(verdict=verdict, by=senior, at=LATER)
    use = Use.objects.get()
    assert (use.given_base, use.person, use.done_at_corrected) == (
        SIX_TIMES, morning.carer.person, AT,
    )  # fmt: skip
    assert morning.level() == 500_000 - SIX_TIMES
    assert morning.task("dose").state == "done"
    assert count_waiting(morning.house.showroom) == 0
    assert [row.decided_by for row in settled_lately(morning.house.showroom, LATER)] == [
        senior.person
    ]
    again = morning.send([morning.sent[0]], at=LATER)[0]
    assert (again.action_id, again.verdict) == (answer.action_id, "duplicate")


def test_a_decision_leaves_a_line_with_its_reason(morning: Morning, senior: Membership) -> None:
    morning.dose(SIX_TIMES)
    settle.refuse(verdict=waiting(morning), reason="a slip of the thumb", by=senior, at=LATER)
    line = AuditEntry.objects.get(deed="held.refused")
    assert (line.person, line.reason) == (senior.person, "a slip of the thumb")
    assert line.before["code"] == "out_of_range"


def test_beyond_the_first_border_whoever_records_says_yes_really(morning: Morning) -> None:
    load_parameters()
    body = {
        "check": "temperature", "look": None, "value": "33",
        "text": "33", "unit": None, "asked_again": False,
    }  # fmt: skip
    answer = morning.say("check", body, stop_id=morning.stop())
    assert answer.reason == "ask_again"
    settle.accept(verdict=waiting(morning), by=morning.carer, at=LATER)
    row = Reading.objects.get()
    assert (row.value, row.asked_again) == (33, True)


def test_a_reading_that_cannot_be_counts_for_nobody(morning: Morning) -> None:
    load_parameters()
    body = {
        "check": "temperature", "look": None, "value": "240",
        "text": "240", "unit": None, "asked_again": True,
    }  # fmt: skip
    assert morning.say("check", body, stop_id=morning.stop()).reason == "out_of_range"
    verdict = waiting(morning)
    assert settle.right_to_accept(verdict) is None
    with pytest.raises(Refused, match="cannot count") as no:
        settle.accept(verdict=verdict, by=morning.house.owner, at=LATER)
    assert no.value.code == "cannot_count"
    assert not Reading.objects.exists()


def test_a_task_beyond_a_skill_is_signed_by_whoever_has_it(morning: Morning) -> None:
    task = morning.task("dose")
    type(task.template).objects.filter(pk=task.template_id).update(skill="C3")
    body = {"task": str(task.uid), "minutes": 6, "answers": {}}
    assert morning.say("complete", body).reason == "wrong_skill"
    verdict = waiting(morning)
    skilled = a_carer(morning.house, "Iskra Vann", "C1", "C2", "C3")
    unskilled = a_carer(morning.house, "Pia Sandgrove", "C1")
    with pytest.raises(Held, match="not signed off"):
        settle.accept(verdict=verdict, by=unskilled, at=LATER)
    assert count_waiting(morning.house.showroom) == 1
    settle.accept(verdict=verdict, by=skilled, at=LATER)
    row = Completion.objects.get()
    assert (row.person, row.done_at_corrected) == (skilled.person, AT)


def test_a_note_counts_nothing_and_can_be_opened_again_for_seven_days(
    morning: Morning, senior: Membership
) -> None:
    morning.dose(SIX_TIMES)
    verdict = waiting(morning)
    for _turn in range(2):
        noted = settle.keep_as_note(
            verdict=verdict,
            words="gave 18 mL, said Bram",
            tank=morning.house.tanks["T01"],
            by=senior,
            at=LATER,
        )
        assert count_waiting(morning.house.showroom) == 0
        (note,) = Observation.objects.standing()
        assert (note.text, note.tank) == ("gave 18 mL, said Bram", morning.house.tanks["T01"])
        assert not Use.objects.exists()
        settle.open_again(verdict=noted, by=senior, at=LATER + timedelta(days=6))
        assert not Observation.objects.standing().exists()
        verdict = waiting(morning)
        assert verdict.code == "out_of_range"
    noted = settle.keep_as_note(verdict=verdict, words="gave 18 mL", by=senior, at=LATER)
    with pytest.raises(Refused, match="more than seven days"):
        settle.open_again(verdict=noted, by=senior, at=LATER + timedelta(days=7))


@pytest.mark.parametrize("reason", ["", "   ", "x" * 201])
def test_a_slip_needs_a_reason_of_at_most_200_characters(
    morning: Morning, senior: Membership, reason: str
) -> None:
    morning.dose(SIX_TIMES)
    with pytest.raises(Refused) as no:
        settle.refuse(verdict=waiting(morning), reason=reason, by=senior, at=LATER)
    assert "reason" in no.value.fields
    assert count_waiting(morning.house.showroom) == 1


def test_what_somebody_settled_meanwhile_is_not_settled_twice(
    morning: Morning, senior: Membership
) -> None:
    morning.dose(SIX_TIMES)
    verdict = waiting(morning)
    settle.accept(verdict=verdict, by=senior, at=LATER)
    for deed, more in (
        (settle.accept, {}),
        (settle.refuse, {"reason": "twice"}),
        (settle.keep_as_note, {"words": "twice"}),
    ):
        with pytest.raises(Refused, match="Odile Marsh has settled") as no:
            deed(verdict=verdict, by=senior, at=LATER, **more)
        assert no.value.code == "settled_already"
    assert Use.objects.count() == 1


def test_an_entry_that_cannot_be_read_stays_a_note(morning: Morning, senior: Membership) -> None:
    broken: dict[str, Any] = morning.action("note", {"words": "no text"})
    morning.send([broken])
    verdict = waiting(morning)
    assert settle.right_to_accept(verdict) is None
    settle.keep_as_note(verdict=verdict, words="{...}", by=senior, at=LATER)
    assert count_waiting(morning.house.showroom) == 0


def test_another_showroom_sees_and_settles_nothing(morning: Morning) -> None:
    morning.dose(SIX_TIMES)
    verdict = waiting(morning)
    stranger = a_person("owner")
    assert count_waiting(stranger.showroom) == 0
    uid, content = str(verdict.action.action_id), verdict.action.sha256[:16]
    assert verdict_of(morning.house.showroom, uid, content) == verdict
    with pytest.raises(Unknown):
        verdict_of(stranger.showroom, uid, content)
    with pytest.raises(Unknown):
        settle.accept(verdict=verdict, by=stranger, at=LATER)
