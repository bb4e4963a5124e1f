"""An emergency through the door of a tablet: kept in any order, stops what it should, and ends."""

from __future__ import annotations

import random
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.errors import Forbidden, Held
from gallery_ops.kernel.models import Alert, AuditEntry
from gallery_ops.kernel.values.uuid7 import uuid7
from inventory.models import Use
from maintenance.actions import settle
from maintenance.actions.apply import Sender, apply_batch
from maintenance.actions.desk import say_at_desk
from maintenance.models import Action, Completion, DueTask, Incident, IncidentStep, Verdict
from maintenance.queries.due import due_on, open_tasks
from maintenance.queries.incidents import incident, open_incidents, timeline
from maintenance.services import due_tasks, overdue
from maintenance.services.incidents import Emergency, open_incident
from tanks.models import Room
from tests.builders import people
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, ON, Morning, a_morning
from tests.maintenance.house import a_carer, on

built, m = built_once(a_morning)
pytestmark = pytest.mark.django_db
UID = "01956c3e-0000-7000-8000-000000000001"
OTHER = "01956c3e-0000-7000-8000-000000000002"
MINUTE = timedelta(minutes=1)


def body(card: str = "gasping", uid: str = UID, drill: bool = False, **more: Any) -> dict[str, Any]:
    return {"incident": uid, "card": card, "drill": drill, **more}


def opened(place: Any = None, **which: Any) -> tuple[str, dict[str, Any]]:
    return "incident_open", body(**which, place=place)


def step(
    kind: str, line: int | None = None, text: str | None = None, place: Any = None, **which: Any
) -> tuple[str, dict[str, Any]]:
    return "incident_step", body(**which, step=kind, line=line, text=text, place=place)


def over(decided_by: str | None = "Maud Ellerkamp", how: str = "over", **which: Any) -> Any:
    return "incident_close", body(**which, how=how, decided_by=decided_by)


T01 = {"kind": "tank", "key": "T01"}
ALL = {"kind": "gallery", "key": None}


def course_of(uid: str = UID) -> tuple[Any, ...]:
    row = Incident.objects.get(uid=uid)
    taps = [(line.kind, line.line, line.text, line.who, line.at) for line in timeline(row)]
    return (row.opened_at, row.opened_by.name, row.tank_id, row.stops, row.closed_at,
            row.decided_by, row.was_nothing, taps)  # fmt: skip


def a_story(m: Morning) -> list[dict[str, Any]]:
    """A card with two people on it, from first tap to last; each tap at its own second."""
    second = a_carer(m.house, "Odile Marsh", "C1")
    said = [
        opened(),
        step("place", place=T01),
        step("done", 1),
        step("done", 2),
        step("rung", text="01632 960 104"),
        step("wrote", text="Needle was open"),
        step("done", 2),
        over(),
    ]
    taps = []
    for number, (kind, what) in enumerate(said):
        person = m.carer if number in {0, 1, 2, 7} else second
        taps.append(
            m.action(
                kind, what, done_at=AT + timedelta(seconds=10 * number),
                person_id=str(person.person.uid),
            )
        )  # fmt: skip
    return taps


def test_any_order_any_repetition_in_any_batches_gives_one_timeline(m: Morning) -> None:
    taps = a_story(m)
    late = AT + timedelta(minutes=20)
    m.send(taps, at=late)
    told, count = course_of(), len(taps)
    assert told[:4] == (AT, "Bram Tolliver", m.house.tanks["T01"].pk, "tank")
    assert told[5:7] == ("Maud Ellerkamp", False)
    draw = random.Random(20260312)
    for round_ in range(8):
        uid = f"01956c3e-0000-7000-8000-0000000001{round_:02}"
        fresh = [
            {**tap, "action_id": str(uuid7(AT)), "body": {**tap["body"], "incident": uid}}
            for tap in taps
        ]
        wanted = [tap["action_id"] for tap in fresh]
        arriving = fresh + draw.sample(fresh, 4)
        draw.shuffle(arriving)
        while arriving:
            size = draw.randint(1, 4)
            # The first of each batch comes first whatever its number: tablets do not wait.
            for answer in m.send(arriving[:size], at=late):
                assert answer.verdict in {"accepted", "duplicate"}
            arriving = arriving[size:]
        assert course_of(uid) == told
        assert IncidentStep.objects.filter(incident__uid=uid).count() == count
        assert {str(key) for key in IncidentStep.objects.filter(incident__uid=uid)
                .values_list("action_id", flat=True)} == set(wanted)  # fmt: skip


def test_a_tablet_whose_clock_is_wrong_is_put_right_and_a_late_one_is_marked(m: Morning) -> None:
    slow = AT - timedelta(minutes=7)
    tap = m.action(*opened(), done_at=slow)
    apply_batch(
        sender=Sender(showroom=m.house.showroom, device=m.tablet), actions=[tap],
        sent_at=slow + MINUTE, at=AT + MINUTE,
    )  # fmt: skip
    (line,) = timeline(incident(m.house.showroom, UID))
    assert (line.at, line.said_at, line.is_late) == (AT, slow, False)
    m.send([m.action(*step("done", 3), done_at=AT + MINUTE)], at=AT + 30 * MINUTE)
    assert [one.is_late for one in timeline(incident(m.house.showroom, UID))] == [False, True]


def test_while_it_is_open_nothing_is_given_there_and_afterwards_it_is(m: Morning) -> None:
    m.say(*opened(T01))
    answer = m.dose(done_at=AT + MINUTE, at=AT + MINUTE)
    assert (answer.verdict, answer.reason) == ("held", "stopped")
    assert "Bram Tolliver opened “Animals gasping” at 08:08" in str(answer.words)
    fed = m.say("feed", m.feed_body(), **m.at_stop("feed"), done_at=AT + MINUTE, at=AT + MINUTE)
    assert (fed.verdict, fed.reason) == ("held", "stopped")
    told = {"task": str(m.task("dose").uid), "minutes": None, "answers": {}}
    done = m.say("complete", told, **m.at_stop("dose"), done_at=AT + MINUTE, at=AT + MINUTE)
    assert done.reason == "stopped"
    assert not Use.objects.exists()
    # The next tank is not stopped, and looking goes on.
    assert m.dose(tank="T02", done_at=AT + MINUTE, at=AT + MINUTE).verdict == "accepted"
    look = {"check": "opening_look", "value": "all_normal", "looks": [], "text": None, "unit": None,
            "asked_again": False}  # fmt: skip
    assert m.say("check", look, **m.at_stop("look"), at=AT + MINUTE).verdict == "accepted"
    m.say(*over(), done_at=AT + 9 * MINUTE, at=AT + 9 * MINUTE)
    after = AT + 10 * MINUTE
    assert m.dose(done_at=after, at=after).verdict == "accepted"


def test_what_was_given_before_the_card_counts_though_it_arrives_after(m: Morning) -> None:
    m.say(*opened(T01), done_at=AT + MINUTE, at=AT + MINUTE)
    assert m.dose(done_at=AT, at=AT + 5 * MINUTE).verdict == "accepted"
    m.say(*over(), done_at=AT + 6 * MINUTE, at=AT + 6 * MINUTE)
    during = m.dose(done_at=AT + 3 * MINUTE, at=AT + 20 * MINUTE)
    assert during.reason == "stopped"


def test_a_person_who_may_correct_lets_a_stopped_dose_count(m: Morning) -> None:
    m.say(*opened(T01))
    held = m.dose()
    verdict = Verdict.objects.get(action__action_id=held.action_id, outcome="held")
    with pytest.raises(Forbidden):
        settle.accept(verdict=verdict, by=m.carer, at=AT + MINUTE)
    settle.accept(verdict=verdict, by=m.house.owner, at=AT + MINUTE)
    assert Use.objects.get().given_base == 3000
    assert Action.objects.filter(action_id=held.action_id).count() == 1


@pytest.mark.parametrize(
    ("card", "place", "stopped"),
    [
        ("gasping", None, set()),
        ("gasping", ALL, {"T01", "T02"}),
        ("power", None, {"T01", "T02"}),
        ("power", T01, {"T01"}),
        ("hurt", T01, set()),
    ],
)
def test_what_rests_is_what_the_card_and_the_place_say(
    m: Morning, card: str, place: Any, stopped: set[str]
) -> None:
    m.say(*opened(place, card=card))
    held = {tank for tank in ("T01", "T02") if m.dose(tank=tank).verdict == "held"}
    assert held == stopped


def test_a_room_stops_its_tanks_and_a_strangers_room_is_none(m: Morning) -> None:
    room = Room.objects.get(showroom=m.house.showroom)
    m.say(*opened({"kind": "room", "key": str(room.uid)}, card="gas"))
    assert {m.dose(tank=tank).reason for tank in ("T01", "T02")} == {"stopped"}
    other = a_morning("quayside")
    theirs = Room.objects.get(showroom=other.house.showroom)
    answer = m.say(*step("place", place={"kind": "room", "key": str(theirs.uid)}, card="gas"))
    assert (answer.verdict, answer.reason) == ("held", "unknown")
    # And a stranger's emergency is none of ours.
    assert other.say(*step("done", 1, card="gas")).reason == "unknown"
    assert other.dose().verdict == "accepted"


def test_routine_tasks_rest_are_not_overdue_and_come_back(m: Morning) -> None:
    showroom, late = m.house.showroom, on(ON, "09:45")
    overdue.review(showroom=showroom, at=late)
    alert = Alert.objects.get(kind="overdue", harm_class="A", closed_at=None)
    assert "T01" in alert.sentence
    m.say(*opened(T01), done_at=late, at=late)
    overdue.review(showroom=showroom, at=late)
    alert.refresh_from_db()
    assert "T01" not in alert.sentence
    mine = [task for task in open_tasks(showroom, late) if task.tank_code == "T01"]
    assert mine
    assert {task.paused_by for task in mine} == {"Animals gasping, 09:45"}
    assert not any(row.is_late for row in due_on(showroom, ON, late) if row.task.paused_by)
    m.say(*over(), done_at=late + MINUTE, at=late + MINUTE)
    overdue.review(showroom=showroom, at=late + MINUTE)
    alert.refresh_from_db()
    assert "T01" in alert.sentence


def test_one_alert_of_class_a_until_it_is_over(m: Morning) -> None:
    for tap in (opened(T01), step("joined"), step("done", 1)):
        m.say(*tap)
    alert = Alert.objects.get(kind="incident", closed_at=None)
    assert alert.harm_class == "A"
    assert (
        alert.sentence == "Animals gasping at T01: Bram opened the card at 08:08. It is not over."
    )
    m.say(*over())
    assert not Alert.objects.filter(kind="incident", closed_at=None).exists()
    assert Alert.objects.filter(kind="incident").count() == 1
    deeds = AuditEntry.objects.filter(subject_kind="incident").order_by("pk")
    assert [row.deed for row in deeds] == ["incident.opened", "incident.over"]


def test_it_was_nothing_is_kept(m: Morning) -> None:
    m.say(*opened(T01))
    m.say(*over(None, how="nothing"), done_at=AT + MINUTE, at=AT + MINUTE)
    row = Incident.objects.get()
    assert (row.was_nothing, row.closed_at, row.decided_by) == (True, AT + MINUTE, "")
    assert open_incidents(m.house.showroom) == []


@pytest.mark.parametrize(("card", "who"), [("gas", "competent person"), ("water", "who decided")])
def test_the_end_asks_for_a_name(m: Morning, card: str, who: str) -> None:
    m.say(*opened(card=card))
    answer = m.say(*over(" ", card=card))
    assert (answer.verdict, answer.reason) == ("held", "no_name")
    assert who in str(answer.words)
    with pytest.raises(Held, match=who):
        say_at_desk(kind="incident_close", body=over("", card=card)[1], by=m.house.owner, at=AT)
    assert Incident.objects.get().closed_at is None


@pytest.mark.parametrize(
    ("tap", "code"),
    [
        (opened(card="unheard_of"), "unknown_card"),
        (step("done", 7), None),
        (step("done", None), "unknown_line"),
        (step("wrote", text="  "), "no_words"),
        (step("rung", text=None), "no_words"),
        (step("place"), "no_place"),
        (step("place", place={"kind": "tank", "key": "T99"}), "unknown"),
        (step("place", place={"kind": "room", "key": "x"}), "unknown"),
        (opened(card="gas"), "other_card"),
        (opened(drill=True), "other_card"),
    ],
)
def test_a_tap_that_cannot_be_is_kept_for_a_person(m: Morning, tap: Any, code: str | None) -> None:
    m.say(*opened())
    answer = m.say(*tap)
    assert (answer.verdict, answer.reason) == (("held", code) if code else ("accepted", None))
    assert IncidentStep.objects.count() == (1 if code else 2)


def test_a_drill_stops_nothing_raises_nothing_and_completes_its_task(m: Morning) -> None:
    due_tasks.ensure(showroom=m.house.showroom, at=AT)
    task = DueTask.objects.filter(template__key="first_minute_drill").order_by("due_at").first()
    assert task is not None
    taps = [opened(card="power", drill=True), step("done", 1, card="power", drill=True),
            step("done", 4, card="power", drill=True), over(card="power", drill=True)]  # fmt: skip
    for number, tap in enumerate(taps):
        moment = AT + timedelta(seconds=40 * number)
        assert m.say(*tap, done_at=moment, at=moment).verdict == "accepted"
        assert m.dose(done_at=moment, at=moment).verdict == "accepted"
        assert not Alert.objects.filter(kind="incident").exists()
    done = Completion.objects.get(due_task=task)
    assert done.minutes == 2
    assert done.answers == {
        "incident": UID, "card": "power", "seconds_to_each_step": {"1": 40, "4": 80},
    }  # fmt: skip
    # A second end of the same drill completes no further task.
    m.say(*over(card="power", drill=True), at=AT + 9 * MINUTE)
    assert Completion.objects.filter(due_task__template__key="first_minute_drill").count() == 1


def test_whoever_may_record_may_open_a_card_and_a_guest_designer_may_not(m: Morning) -> None:
    guest = people.a_member(m.house.owner, "guest_designer")
    with pytest.raises(Forbidden):
        open_incident(
            showroom=m.house.showroom, emergency=Emergency(uuid7(AT), "gas"), by=guest, at=AT
        )
    say_at_desk(kind="incident_open", body=opened()[1], by=m.carer, at=AT)
    assert Incident.objects.get().opened_by == m.carer.person


@pytest.mark.once
def test_queries_of_a_tap_do_not_grow_with_what_went_before(m: Morning) -> None:
    def queries(uid: str) -> int:
        tap = m.action(*step("done", 1, uid=uid))
        with CaptureQueriesContext(connection) as seen:
            m.send([tap])
        return len(seen)

    m.say(*opened(T01))
    m.say(*opened(T01, uid=OTHER))
    few = queries(UID)
    for line in range(1, 8):
        m.say(*step("done", line))
    assert queries(UID) <= few
    assert queries(OTHER) <= few
