"""Batches: known, differing, damaged and strange entries, and the time in which one may undo."""

from __future__ import annotations

import logging
from datetime import timedelta
from typing import Any

import pytest

from gallery_ops.kernel.queries.alerts import open_alerts
from gallery_ops.kernel.services.devices import revoke_device
from gallery_ops.kernel.services.people import end_membership
from inventory.models import Use
from maintenance.actions import note
from maintenance.actions.apply import Sender, apply_batch
from maintenance.models import Action, Observation, Verdict
from maintenance.queries.round_entries import entries_of_round
from maintenance.services import log_alerts
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer

pytestmark = pytest.mark.django_db

CLOSED = {"left_open": [], "hand_over_to": None}


built, morning = built_once(a_morning)


def test_one_bad_action_stops_none_of_the_others(morning: Morning) -> None:
    good = morning.action("note", {"text": "First."})
    held = morning.action("note", {"text": "x"}, stop_id="019526a1-0000-7000-8000-000000000000")
    broken = morning.action("note", {"words": "no text"})
    last = morning.action("note", {"text": "Last."})
    answers = morning.send([good, held, broken, {"kind": "note"}, 7, last])
    assert [answer.verdict for answer in answers] == [
        "accepted", "held", "malformed", "malformed", "malformed", "accepted",
    ]  # fmt: skip
    assert Observation.objects.count() == 2
    assert Action.objects.count() == 4, "what could be named is kept"


def test_the_same_again_is_a_duplicate_and_a_held_one_stays_held(morning: Morning) -> None:
    good = morning.action("dose", morning.dose_body(), **morning.at_stop("dose"))
    bad = morning.action("dose", morning.dose_body(10**6), **morning.at_stop("dose"))
    first, again = morning.send([good, bad]), morning.send([bad, good])
    assert [one.verdict for one in first] == ["accepted", "held"]
    assert [one.verdict for one in again] == ["held", "duplicate"]
    assert again[0] == first[1]
    assert Use.objects.count() == 1
    assert Verdict.objects.count() == 2


def test_the_same_id_with_other_content_differs_and_both_are_kept(morning: Morning) -> None:
    one = morning.action("note", {"text": "Three fish."})
    other = {**one, "body": {"text": "Four fish."}}
    said = [morning.send([action])[0].verdict for action in (one, other, other, one)]
    assert said == ["accepted", "differs", "differs", "duplicate"]
    assert [row.text for row in Observation.objects.all()] == ["Three fish."]
    for _twice in range(2):
        log_alerts.review(morning.carer.showroom, AT)
    told = open_alerts(morning.carer.showroom, kind="two_versions")
    assert ["one entry in two versions" in alert.sentence for alert in told] == [True]
    assert Action.objects.count() == 2
    assert Verdict.objects.count() == 2


def test_order_of_keys_is_no_other_content(morning: Morning) -> None:
    one = morning.action("note", {"text": "x"})
    turned = dict(reversed(list(one.items())))
    assert [morning.send([action])[0].verdict for action in (one, turned)] == [
        "accepted", "duplicate",
    ]  # fmt: skip


def test_a_fault_of_ours_keeps_the_entry_and_lets_the_others_pass(
    morning: Morning, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def breaks(_said: Any) -> None:
        raise KeyError("a defect")

    monkeypatch.setattr(note, "apply", breaks)
    with caplog.at_level(logging.ERROR):
        answers = morning.send(
            [
                morning.action("note", {"text": "x"}),
                morning.action("dose", morning.dose_body(), **morning.at_stop("dose")),
            ]
        )
    assert [one.verdict for one in answers] == ["held", "accepted"]
    assert answers[0].reason == "program_fault"
    assert "action.broke" in caplog.text
    assert Action.objects.count() == 2


# --- undo ---------------------------------------------------------------------------------------
def test_undo_holds_for_ten_minutes_or_as_long_as_the_round_is_open(morning: Morning) -> None:
    said = morning.dose()
    late = AT + timedelta(minutes=50)
    assert morning.undo(said, done_at=late, at=late).verdict == "accepted"


def test_after_ten_minutes_in_a_closed_round_undo_waits_for_a_person(morning: Morning) -> None:
    first, second = morning.dose(), morning.dose(tank="T02")
    morning.say("round_close", CLOSED)
    soon, late = AT + timedelta(minutes=10), AT + timedelta(minutes=10, seconds=1)
    assert morning.undo(first, done_at=soon, at=soon).verdict == "accepted"
    held = morning.undo(second, done_at=late, at=late)
    assert (held.verdict, held.reason) == ("held", "too_late")
    assert morning.level() == 500_000 - 3000


def test_an_undo_dated_before_its_entry_opens_no_closed_round(morning: Morning) -> None:
    said = morning.dose()
    morning.say("round_close", CLOSED)
    before = AT - timedelta(days=1)
    held = morning.undo(said, done_at=before, at=AT + timedelta(hours=1))
    assert (held.verdict, held.reason) == ("held", "too_late")


def test_an_undo_that_was_done_in_time_and_arrives_late_counts(morning: Morning) -> None:
    said = morning.dose()
    morning.say("round_close", CLOSED)
    done_at, at = AT + timedelta(minutes=5), AT + timedelta(hours=9)
    assert morning.undo(said, done_at=done_at, at=at).verdict == "accepted"


def test_undone_twice_is_undone_once_and_an_undo_is_not_undone(morning: Morning) -> None:
    said = morning.dose()
    back = morning.undo(said)
    assert morning.undo(said).verdict == "accepted"
    assert morning.level() == 500_000
    held = morning.undo(back)
    assert (held.verdict, held.reason) == ("held", "not_to_be_undone")


def test_a_held_slip_that_is_taken_back_waits_for_nobody(morning: Morning) -> None:
    action = morning.action("dose", morning.dose_body(30_000), **morning.at_stop("dose"))
    slip = morning.send([action])[0]
    assert slip.verdict == "held"
    assert morning.undo(slip).verdict == "accepted"
    assert morning.stop() not in entries_of_round(morning.round)
    assert Verdict.objects.filter(action__action_id=slip.action_id).latest("pk").outcome == (
        "withdrawn"
    )
    assert morning.send([action])[0].verdict == "duplicate"
    assert morning.level() == 500_000


def test_an_undo_before_its_entry_waits_for_a_person(morning: Morning) -> None:
    body = {"takes_back": "019526a1-0000-7000-8000-000000000000"}
    held = morning.say("undo", body, corrects=body["takes_back"])
    assert (held.verdict, held.reason) == ("held", "unknown")


def test_what_was_taken_back_is_not_among_the_entries_of_the_round(morning: Morning) -> None:
    first = morning.dose()
    morning.dose(10**6)
    morning.undo(first)
    entries = entries_of_round(morning.round)[morning.stop()]
    assert [(entry["kind"], entry.get("verdict")) for entry in entries] == [("dose", "held")]


# --- who and when -------------------------------------------------------------------------------
def test_whoever_left_since_did_what_they_did(morning: Morning) -> None:
    left = AT + timedelta(hours=1)
    end_membership(membership=morning.carer, by=morning.house.owner, at=left)
    done = morning.say("note", {"text": "x"}, at=left + timedelta(hours=2))
    assert done.verdict == "accepted"
    after = left + timedelta(minutes=1)
    held = morning.say("note", {"text": "x"}, done_at=after, at=after)
    assert (held.verdict, held.reason) == ("held", "unknown")


def test_a_strangers_names_are_held_in_the_words_for_what_is_not_there(morning: Morning) -> None:
    other = a_morning("otherhall")
    nowhere = "019526a1-0000-7000-8000-000000000000"
    for name, theirs in {
        "round_id": str(other.round.uid),
        "stop_id": other.stop(),
        "person_id": str(other.carer.person.uid),
    }.items():
        foreign = morning.say("note", {"text": "x"}, **{name: theirs})
        none = morning.say("note", {"text": "x"}, **{name: nowhere})
        assert (foreign.verdict, foreign.words) == ("held", none.words), name
    body = morning.dose_body(product=str(other.house.fertiliser.uid))
    assert morning.say("dose", body, stop_id=morning.stop()).reason == "unknown"
    look = {"check": "opening_look", "value": "all_normal", "text": None, "unit": None}
    task = str(other.task("look").uid)
    assert morning.say("check", {**look, "asked_again": False}, task_id=task).reason == "unknown"
    assert not Observation.objects.exists()


@pytest.mark.parametrize(
    ("days", "reason"), [(2, "too_early"), (-61, "too_old"), (400, "too_early"), (-9000, "too_old")]
)
def test_far_from_now_waits_for_a_person(morning: Morning, days: int, reason: str) -> None:
    held = morning.say("note", {"text": "x"}, done_at=AT + timedelta(days=days))
    assert (held.verdict, held.reason) == ("held", reason)


def test_a_wrong_clock_is_set_right_by_the_moment_of_sending(morning: Morning) -> None:
    slow = timedelta(hours=3)
    action = morning.action(
        "dose", morning.dose_body(), done_at=AT - slow, **morning.at_stop("dose")
    )
    sender = Sender(showroom=morning.house.showroom, device=morning.tablet)
    answers, _received = apply_batch(sender=sender, actions=[action], sent_at=AT - slow, at=AT)
    assert answers[0].verdict == "accepted"
    use = Use.objects.get()
    assert (use.done_at, use.done_at_corrected) == (AT - slow, AT)
    assert Action.objects.get().offset_ms == 3 * 3600 * 1000


def test_a_revoked_tablets_entries_are_kept_and_not_applied(morning: Morning) -> None:
    revoke_device(device=morning.tablet, by=morning.house.owner, at=AT)
    held = morning.dose()
    assert (held.verdict, held.reason) == ("held", "device_revoked")
    assert not Use.objects.exists()


def test_a_guest_may_record_nothing(morning: Morning) -> None:
    guest = a_carer(morning.house, "Gita Rowe", role="guest_designer")
    held = morning.say("note", {"text": "x"}, person_id=str(guest.person.uid))
    assert (held.verdict, held.reason) == ("held", "not_your_right")


@pytest.mark.parametrize(
    "change",
    [
        {"seq": 2**53},
        {"seq": 1.0},
        {"seq": True},
        {"seq": -1},
        {"schema": 2},
        {"kind": "destroy"},
        {"action_id": "x"},
        {"done_at": "1970-01-01T00:00:00Z"},
        {"done_at": "2100-06-01T00:00:00Z"},
        {"done_at": "2026-02-30T00:00:00Z"},
        {"done_at": "2026-03-12T08:08:00"},
        {"body": {"text": "\0"}},
        {"body": {"text": "\ud800"}},
        {"body": {"text": "x" * 501}},
        {"body": []},
        {"person_id": None},
        {"corrects": "x"},
        {"extra": 1},
    ],
)
def test_what_is_no_action_is_malformed_and_nothing_follows(
    morning: Morning, change: dict[str, Any]
) -> None:
    action = {**morning.action("note", {"text": "x"}), **change}
    assert morning.send([action])[0].verdict == "malformed"
    assert not Observation.objects.exists()


def test_numbers_that_are_not_whole_are_no_amounts(morning: Morning) -> None:
    for wrong in (3000.0, -1, 10**10, "3000", None, True, 1e300):
        action = morning.action("dose", {**morning.dose_body(), "given_ul": wrong})
        assert morning.send([action])[0].verdict == "malformed", wrong
    deep: Any = []
    for _ in range(25):
        deep = [deep]
    body = {"task": str(morning.task("look").uid), "minutes": None, "answers": {"deep": deep}}
    assert morning.say("complete", body).verdict == "malformed"
