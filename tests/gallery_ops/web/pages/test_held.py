"""Entries that wait for a person: quoted, with their reason, and settled by a button."""

from __future__ import annotations

import json
import time
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gallery_ops.kernel import clock
from gallery_ops.kernel.services.people import grant_skill, renew_epoch
from gallery_ops.kernel.values.uuid7 import uuid7
from inventory.models import Use
from maintenance.models import Observation, TaskTemplate
from maintenance.queries.held import count_waiting, decided_for
from tests.builders.people import a_device
from tests.built_once import built_once
from tests.gallery_ops.web.pages.addresses import signed_in
from tests.maintenance.actions.saying import AT, ON, Morning, a_morning
from tests.maintenance.house import a_carer

pytestmark = pytest.mark.django_db


built, morning = built_once(a_morning)


@pytest.fixture(autouse=True)
def at_08_31(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GALLERY_OPS_CLOCK", "2026-03-12T08:31")
    monkeypatch.setattr(clock, "_started", time.monotonic())


@pytest.fixture
def senior(morning: Morning) -> Client:
    return signed_in(a_carer(morning.house, "Odile Marsh", "C1", role="senior_carer"))


def settle(client: Client, action_id: str | None, **typed: str) -> object:
    return client.post(reverse("held_settle", args=[action_id]), typed)


def test_what_was_written_is_quoted_with_who_when_why_and_each_effect(
    morning: Morning, senior: Client
) -> None:
    morning.dose(18_000)
    text = senior.get(reverse("held_list")).content.decode()
    for words in (
        "1 entry needs a person.", "Far above the plan?", "gave 18 mL of complete fertiliser",
        "Bram Tolliver", "18 mL is more than 5 times the plan of 3 mL.", "So much was given",
        "Keep as a note", "Nothing is counted; the task stays due", "It was a slip",
    ):  # fmt: skip
        assert words in text
    assert "checked" not in text


def test_the_board_leads_to_it(morning: Morning, senior: Client) -> None:
    assert reverse("held_list") not in senior.get(reverse("day_board")).content.decode()
    morning.dose(18_000)
    text = senior.get(reverse("day_board")).content.decode()
    assert "1 entry waits for a decision" in text
    assert f'href="{reverse("held_list")}"' in text


def test_a_button_lets_it_count(morning: Morning, senior: Client) -> None:
    answer = morning.dose(18_000)
    reply = settle(senior, answer.action_id, choice="accept")
    assert reply.status_code == 302  # type: ignore[attr-defined]
    assert Use.objects.get().given_base == 18_000
    text = senior.get(reverse("held_list")).content.decode()
    assert "No entry waits." in text
    assert "said Odile Marsh" in text


def test_a_note_stands_at_the_tank_and_can_be_opened_again(
    morning: Morning, senior: Client
) -> None:
    answer = morning.dose(18_000)
    settle(senior, answer.action_id, choice="note")
    note = Observation.objects.get()
    assert "gave 18 mL of complete fertiliser" in note.text
    assert note.tank == morning.house.tanks["T01"]
    settle(senior, answer.action_id, choice="open")
    assert count_waiting(morning.house.showroom) == 1


def test_a_slip_without_a_reason_is_asked_for_one_and_what_was_typed_stays(
    morning: Morning, senior: Client
) -> None:
    answer = morning.dose(18_000)
    content = senior.get(reverse("held_list")).content.decode().split('name="content" value="')[1]
    typed = {"choice": "refuse", "content": content[:16]}
    empty = settle(senior, answer.action_id, **typed, reason=" ")
    assert empty.status_code == 422  # type: ignore[attr-defined]
    assert "say why it does not count" in empty.content.decode()  # type: ignore[attr-defined]
    long = settle(senior, answer.action_id, **typed, reason="moss " * 50)
    assert "moss moss moss" in long.content.decode()  # type: ignore[attr-defined]
    assert count_waiting(morning.house.showroom) == 1


def test_a_carer_reads_it_is_told_who_may_and_is_refused(morning: Morning) -> None:
    answer = morning.dose(18_000)
    carer = signed_in(morning.carer)
    text = carer.get(reverse("held_list")).content.decode()
    assert "This needs: senior carer, manager, owner." in text
    assert 'value="accept"' not in text
    for choice in ("accept", "note", "refuse"):
        reply = settle(carer, answer.action_id, choice=choice, reason="no")
        assert reply.status_code == 403  # type: ignore[attr-defined]
    assert count_waiting(morning.house.showroom) == 1


@pytest.mark.once
def test_ten_entries_take_no_more_queries_than_one(morning: Morning, senior: Client) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert senior.get(reverse("held_list")).status_code == 200
        return len(seen)

    morning.dose(18_000)
    queries()
    one = queries()
    for n in range(9):
        morning.dose(18_000, tank="T02", done_at=AT + timedelta(seconds=n))
    assert queries() == one


def test_the_saved_outbox_of_a_tablet_comes_in_and_is_told_by_verdict(morning: Morning) -> None:
    boss = signed_in(a_carer(morning.house, "Iskra Vane", "C3", role="manager"))
    note = morning.action("note", {"text": "one", "tank": None})
    far = morning.action("note", {"text": "x", "tank": None}, person_id=str(uuid7(AT)))
    file = {
        "format": "gallery-ops-outbox", "schema": 1, "device_id": str(morning.tablet.uid),
        "offset_ms": 0, "entries": 3, "actions": [note, far, {"no": "action"}],
    }  # fmt: skip

    def bring(data: bytes) -> str:
        sent = {"file": SimpleUploadedFile("undershore.json", data)}
        return boss.post(reverse("saved_outbox"), sent).content.decode()

    assert f'href="{reverse("saved_outbox")}"' in boss.get(reverse("held_list")).content.decode()
    text = bring(json.dumps(file).encode())
    for words in (
        "1 entry is stored.", "2 need a person.", "There is no such person here.",
        "Cannot be read, report it: 1", "undershore.json, 3 entries.",
    ):  # fmt: skip
        assert words in text
    assert "1 was counted before, and is not counted twice." in bring(json.dumps(file).encode())
    assert "it breaks off" in bring(json.dumps(file).encode()[:-5])
    assert "Choose a file first." in boss.post(reverse("saved_outbox")).content.decode()


def test_work_that_only_a_pin_signed_for_waits_here_for_a_word(
    morning: Morning, senior: Client
) -> None:
    grant_skill(
        membership=morning.carer, skill="C3", by=morning.house.owner, at=AT, signed_off_on=ON
    )
    task = morning.task("look")
    TaskTemplate.objects.filter(pk=task.template_id).update(skill="C3")
    answer = morning.say(
        "complete", {"task": str(task.uid), "minutes": None, "answers": {}}, task_id=str(task.uid)
    )
    page = senior.get(reverse("held_list")).content.decode()
    assert "Signed for without the network: was it so?" in page
    assert "Unconfirmed" in page
    no = settle(senior, answer.action_id, task=str(task.uid), choice="was_not_so", reason="")
    assert no.status_code == 422  # type: ignore[attr-defined]
    assert "say in a few words what was not so" in no.content.decode()  # type: ignore[attr-defined]
    settle(senior, answer.action_id, task=str(task.uid), choice="was_so")
    page = senior.get(reverse("held_list")).content.decode()
    assert "Signed for without the network" not in page
    assert "Confirmed. It stands under the name that signed for it" in page


def test_the_tablet_hears_what_became_of_it_in_the_managers_words(
    morning: Morning, senior: Client
) -> None:
    answers = [morning.dose(18_000), morning.dose(19_000)]
    settle(senior, answers[0].action_id, choice="note")
    settle(senior, answers[1].action_id, choice="refuse", reason="a slip of the thumb")
    page = senior.get(reverse("held_list")).content.decode()
    told = {one["action_id"]: one for one in decided_for(morning.tablet, clock.now())}
    assert [told[str(one.action_id)]["verdict"] for one in answers] == ["noted", "refused"]
    for one in told.values():
        assert one["words"] in page
    assert "a slip, not counted, said Odile Marsh: a slip of the thumb" in page
    assert decided_for(morning.tablet, clock.now() + timedelta(days=14)) == []
    assert decided_for(a_device(morning.house.owner), clock.now()) == []


def test_after_a_backup_was_put_back_the_page_says_what_came_again(
    morning: Morning, senior: Client
) -> None:
    assert "A backup was put back" not in senior.get(reverse("held_list")).content.decode()
    renew_epoch(at=clock.now())
    page = senior.get(reverse("held_list")).content.decode()
    assert "not heard since: bring it near the network" in page
    assert "what was entered at a desk after the backup was made" in page
