"""Somebody did it already: an entry that is here and counts, or a claim that is kept as a claim."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from gallery_ops.kernel.queries.alerts import open_alerts
from inventory.models import Use
from maintenance.actions import settle
from maintenance.actions.apply import Answer
from maintenance.models import Skip, Verdict
from maintenance.services import skip_alerts
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer, a_house

built, m = built_once(a_morning)
pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def said(m: Morning, kind: str = "dose", tank: str = "T01", **more: Any) -> Answer:
    body = m.skip_body(kind, "already_done", **more) | {"task": str(m.task(kind, tank).uid)}
    return m.say("skip", body, **m.at_stop(kind, tank))


def claim(**more: Any) -> dict[str, Any]:
    return {"person": None, "name": "Odile Marsh", "at": "2026-03-12T07:00", **more}


def told(m: Morning, at: Any = AT) -> list[str]:
    skip_alerts.review(m.house.showroom, at)
    return [alert.sentence for alert in open_alerts(m.house.showroom, kind="skip")]


def test_it_links_the_entry_that_did_it_and_moves_no_stock(m: Morning) -> None:
    dose = m.dose(round_id=None, task_id=None)
    assert said(m, links=dose.action_id).verdict == "accepted"
    assert Skip.objects.get().links_to == dose.action_id
    assert (m.task("dose").state, m.level(), Use.objects.count()) == ("done", 497_000, 1)
    assert told(m) == []


def test_an_entry_put_right_meanwhile_is_still_that_entry(m: Morning) -> None:
    dose = m.dose(round_id=None, task_id=None)
    wanted = str(dose.action_id)
    body = {"amends": wanted, "changes": {"given_ul": 2500}, "reason": "typed wrong"}
    assert m.say("amend", body, corrects=wanted).verdict == "accepted"
    assert said(m, links=wanted).verdict == "accepted"


def entries(m: Morning) -> dict[str, str]:
    """Entries that did not do it, by what is wrong with them."""
    undone = m.dose(tank="T01")
    m.undo(undone)
    stranger = a_morning("overshore")
    other = stranger.dose()
    return {
        "taken back": str(undone.action_id),
        "of another tank": str(m.dose(tank="T02").action_id),
        "a note": str(m.say("note", {"text": "Odile"}, stop_id=m.stop()).action_id),
        "of another gallery": str(other.action_id),
        "nowhere": "019526a1-0000-7000-8000-000000000000",
        "no id": "an entry",
        "of a person": str(m.carer.person.uid),
    }


def test_an_entry_that_did_not_do_it_settles_nothing(m: Morning) -> None:
    for name, links in entries(m).items():
        held = said(m, links=links)
        assert (held.verdict, held.reason) == ("held", "unknown"), name
    assert m.task("dose").state == "open"
    assert not Skip.objects.exists()


def test_a_claim_is_kept_as_one_and_asked_about_until_the_dose_is_entered(m: Morning) -> None:
    odile = a_carer(m.house, "Odile Marsh", "C1")
    person = str(odile.person.uid)
    assert said(m, claim=claim(person=person, name=None)).verdict == "accepted"
    row = Skip.objects.get()
    assert (row.links_to, row.text) == (f"claim:{person}", "Odile Marsh, 07:00")
    assert (m.task("dose").state, m.level(), Use.objects.count()) == ("done", 500_000, 0)
    (sentence,) = told(m)
    assert "is said to be done by Odile Marsh, 07:00, and nobody entered it" in sentence
    m.dose(person_id=person, done_at=AT - HOUR)
    assert told(m) == []


def test_a_claim_about_a_look_asks_nobody(m: Morning) -> None:
    assert said(m, "look", claim=claim()).verdict == "accepted"
    assert told(m) == []


@pytest.mark.parametrize(
    "wrong",
    [
        {"name": None},
        {"name": "   "},
        {"name": "Odile\x07"},
        {"at": "2026-03-12T09:30"},
        {"at": "2026-03-04T07:00"},
        {"at": "2026-13-12T07:00"},
        {"at": "0001-01-01T00:00"},
        {"at": "9999-12-31T23:59"},
        {"person": "019526a1-0000-7000-8000-000000000000"},
        {"person": "nobody"},
    ],
)
def test_a_claim_that_cannot_be_is_held(m: Morning, wrong: dict[str, Any]) -> None:
    held = said(m, claim=claim(**wrong))
    assert held.verdict == "held", held
    assert held.reason in {"bad_claim", "unknown"}
    assert not Skip.objects.exists()


def test_nobody_claims_to_have_done_it_and_no_stranger_did(m: Morning) -> None:
    own = said(m, claim=claim(person=str(m.carer.person.uid)))
    assert own.reason == "bad_claim"
    stranger = a_carer(a_house("overshore"), "Ilse Marlbrook")
    assert said(m, claim=claim(person=str(stranger.person.uid))).reason == "unknown"


def test_words_alone_wait_and_count_as_a_claim_by_whoever_may_correct(m: Morning) -> None:
    held = said(m, text="Odile, at seven")
    assert held.reason == "reason_incomplete"
    verdict = Verdict.objects.get(action__action_id=held.action_id, outcome="held")
    settle.accept(verdict=verdict, by=m.house.owner, at=AT + HOUR)
    assert (Skip.objects.get().links_to, Skip.objects.get().text) == ("claim:", "Odile, at seven")
