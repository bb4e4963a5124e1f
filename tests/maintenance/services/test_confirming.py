"""Work of C3 that only a PIN without the network signed for: it counts, and waits for a word."""

from __future__ import annotations

from datetime import timedelta

import pytest

from gallery_ops.kernel.errors import Forbidden, Refused, Unknown
from gallery_ops.kernel.models import AuditEntry, SignInTry
from gallery_ops.kernel.queries.alerts import open_alerts
from gallery_ops.kernel.services.people import grant_skill
from gallery_ops.overview.tank_page import _done
from maintenance.models import Completion, DueTask, TaskTemplate
from maintenance.queries.confirming import completion_to_confirm, to_confirm
from maintenance.services.confirming import confirm_completion, review
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, ON, Morning, a_morning

pytestmark = pytest.mark.django_db
LATER = AT + timedelta(minutes=20)


def _build() -> Morning:
    """The carer is signed off for C3, and T01 has a task that asks for it."""
    morning = a_morning()
    house = morning.house
    grant_skill(membership=morning.carer, skill="C3", by=house.owner, at=AT, signed_off_on=ON)
    template = TaskTemplate.objects.filter(showroom=house.showroom, skill="C3").earliest("pk")
    DueTask.objects.create(
        showroom=house.showroom, template=template, tank=house.tanks["T01"], subject_key="T01",
        occurrence_key="x", due_on=ON, due_at=AT, state="open",
    )  # fmt: skip
    return morning


built, morning = built_once(_build)


def task() -> DueTask:
    return DueTask.objects.get(occurrence_key="x")


def done(morning: Morning, proof: str = "pin", **more: object) -> Completion:
    body = {"task": str(task().uid), "minutes": 5, "answers": {}}
    answer = morning.say("complete", body, task_id=str(task().uid), person_proof=proof, **more)
    assert answer.verdict == "accepted", answer
    return Completion.objects.get(action_id=answer.action_id)


def signed_in(morning: Morning, *, told: bool = False, hours: int = 1) -> None:
    SignInTry.objects.create(
        showroom=morning.house.showroom, person=morning.carer.person, device=morning.tablet,
        at=AT - timedelta(hours=hours), right=True, told_by_tablet=told,
    )  # fmt: skip


def test_a_pin_without_the_network_names_and_does_not_prove(morning: Morning) -> None:
    completion = done(morning)
    assert task().state == "done"
    assert completion.to_confirm
    assert list(to_confirm(morning.house.showroom)) == [completion]


def test_what_the_gallery_itself_checked_proves_and_nothing_else_does(morning: Morning) -> None:
    assert done(morning, "session").to_confirm  # the tablet says so, the book does not
    signed_in(morning, hours=13)
    assert done(morning, "session").to_confirm  # yesterday's
    signed_in(morning, told=True)
    assert done(morning, "session").to_confirm  # the tablet told it
    signed_in(morning)
    assert not done(morning, "session").to_confirm
    assert done(morning, "pin").to_confirm


def test_work_of_less_skill_waits_for_no_word(morning: Morning) -> None:
    body = {"task": str(morning.task("look").uid), "minutes": None, "answers": {}}
    morning.say("complete", body, **morning.at_stop("look"))
    assert not Completion.objects.filter(to_confirm=True).exists()


def test_somebody_who_may_says_that_it_was_so(morning: Morning) -> None:
    completion, owner = done(morning), morning.house.owner
    with pytest.raises(Forbidden):
        confirm_completion(completion=completion, was_so=True, text="", by=morning.carer, at=LATER)
    said = confirm_completion(completion=completion, was_so=True, text="", by=owner, at=LATER)
    again = confirm_completion(completion=completion, was_so=True, text="", by=owner, at=LATER)
    assert (said.pk, said.was_so, task().state) == (again.pk, True, "done")
    assert not to_confirm(morning.house.showroom).exists()
    assert AuditEntry.objects.filter(deed="completion.confirmed").count() == 1
    with pytest.raises(Refused, match="has settled this"):
        confirm_completion(completion=completion, was_so=False, text="no", by=owner, at=LATER)


def test_what_was_not_so_needs_a_reason_and_is_due_again(morning: Morning) -> None:
    completion, owner = done(morning), morning.house.owner
    with pytest.raises(Refused, match="what was not so"):
        confirm_completion(completion=completion, was_so=False, text=" ", by=owner, at=LATER)
    confirm_completion(
        completion=completion, was_so=False, text="Bram was not here", by=owner, at=LATER
    )
    assert task().state == "open"
    assert not to_confirm(morning.house.showroom).exists()
    with pytest.raises(Refused, match="has settled"):
        confirm_completion(completion=completion, was_so=True, text="", by=owner, at=LATER)


def test_what_was_taken_back_needs_no_word(morning: Morning) -> None:
    morning.say("undo", {"takes_back": (uid := str(done(morning).action_id))}, corrects=uid)
    assert not to_confirm(morning.house.showroom).exists()


def test_after_two_days_the_manager_is_told_once_and_not_any_more_after_a_word(
    morning: Morning,
) -> None:
    completion, showroom = done(morning), morning.house.showroom
    review(showroom, AT + timedelta(days=2, minutes=-1))
    assert not open_alerts(showroom, kind="to_confirm")
    review(showroom, AT + timedelta(days=2))
    (alert,) = open_alerts(showroom, kind="to_confirm")
    assert "Bram" in alert.sentence
    confirm_completion(
        completion=completion, was_so=True, text="", by=morning.house.owner, at=LATER
    )
    review(showroom, AT + timedelta(days=3))
    assert not open_alerts(showroom, kind="to_confirm")


def test_it_is_found_by_its_names_inside_its_gallery_only(morning: Morning) -> None:
    completion = done(morning)
    names = (completion.action_id, str(task().uid))
    assert completion_to_confirm(morning.house.showroom, *names) == completion
    for showroom, uid in ((a_morning("otherhall").house.showroom, names[1]), (None, "x")):
        with pytest.raises(Unknown):
            completion_to_confirm(showroom or morning.house.showroom, names[0], uid)


def test_the_tanks_page_says_that_it_is_unconfirmed_until_somebody_said_so(
    morning: Morning,
) -> None:
    completion, owner = done(morning), morning.house.owner

    def told() -> bool:
        lines = _done(morning.house.showroom, morning.house.tanks["T01"].pk)
        return "(unconfirmed)" in lines[0].words

    assert told()
    confirm_completion(completion=completion, was_so=True, text="", by=owner, at=LATER)
    assert not told()
