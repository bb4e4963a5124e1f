"""Whose entry may be taken back, which task an entry does, who can do it, and is the tank empty?"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from gallery_ops.kernel.errors import Forbidden
from gallery_ops.kernel.models import Device, Role
from gallery_ops.kernel.rights import MATRIX
from inventory.models import Use, Weighing
from inventory.services import livestock
from maintenance.actions import settle
from maintenance.actions.apply import Answer
from maintenance.models import Action, Completion, DueTask, Observation, Round, Skip, Verdict
from maintenance.queries.held import waiting_entries
from tanks.models import PlantGroup, Reading, Species
from tanks.services.catalogue import load_parameters
from tests.builders import people, stock
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, LAST_MONTH, Morning, a_morning
from tests.maintenance.house import START, a_carer

pytestmark = pytest.mark.django_db
LATER = AT + timedelta(minutes=20)

built, morning = built_once(a_morning)


def accepted_by_a_senior(morning: Morning) -> Verdict:
    """The one entry that waits counts, by the word of somebody who may correct."""
    (verdict,) = waiting_entries(morning.house.showroom)
    senior = a_carer(morning.house, "Odile Marsh", "C1", role="senior_carer")
    assert isinstance(verdict, Verdict)
    assert settle.right_to_accept(verdict) == "correct"
    return settle.accept(verdict=verdict, by=senior, at=LATER)


# --- whose entry is taken back ------------------------------------------------------------------
STRANGER = {
    "this tablet, this round": {},
    "this tablet, another round": {"round": True},
    "another tablet, this round": {"tablet": True},
}
"""How the entry of somebody else was made; what is not said is as in the undoing."""
SHARED = "this tablet, this round"


def another_tablet(morning: Morning) -> Device:
    return people.a_device(morning.house.owner, "tablet of zone B", at=START)


def dosed_by_somebody_else(morning: Morning, made: dict[str, bool]) -> Answer:
    other = a_carer(morning.house, "Runa Aldersley", "C1", "C2")
    fields: dict[str, Any] = {"person_id": str(other.person.uid)}
    if made.get("round"):
        closing = Round.objects.get(kind="closing", business_on=morning.round.business_on)
        fields["round_id"] = str(closing.uid)
    own, morning.tablet = morning.tablet, morning.tablet
    if made.get("tablet"):
        morning.tablet = another_tablet(morning)
    said = morning.dose(**fields)
    morning.tablet = own
    assert said.verdict == "accepted"
    return said


@pytest.mark.parametrize("made", STRANGER)
@pytest.mark.parametrize("role", [role.value for role in Role])
def test_another_persons_entry_is_taken_back_by_whoever_holds_its_tablet_or_may_correct(
    morning: Morning, role: str, made: str
) -> None:
    said = dosed_by_somebody_else(morning, STRANGER[made])
    by = a_carer(morning.house, "Bela Quarr", "C1", role=role)
    answer = morning.undo(said, person_id=str(by.person.uid))
    if "correct" in MATRIX[role] or (made == SHARED and "record" in MATRIX[role]):
        assert (answer.verdict, morning.level()) == ("accepted", 500_000)
        return
    wanted = "needs_senior" if made != SHARED else "not_your_right"
    assert (answer.verdict, answer.reason) == ("held", wanted)
    assert morning.level() == 500_000 - 3000, "the dose counts as before"
    assert Action.objects.filter(kind="undo").count() == 1, "and what was asked for is kept"


def test_one_takes_back_ones_own_from_any_tablet(morning: Morning) -> None:
    said = morning.dose()
    morning.tablet = another_tablet(morning)
    assert morning.undo(said).verdict == "accepted"
    assert morning.level() == 500_000


def test_what_somebody_who_may_correct_lets_pass_is_taken_back(morning: Morning) -> None:
    said = dosed_by_somebody_else(morning, {"tablet": True})
    held = morning.undo(said)
    assert held.help is not None
    assert "senior carer, manager, owner" in held.help
    assert accepted_by_a_senior(morning).outcome == "accepted"
    assert morning.level() == 500_000
    assert morning.task("dose").state == "open"


# --- which task an entry does -------------------------------------------------------------------
def a_look(check: str, value: str, **more: Any) -> dict[str, Any]:
    body = {"check": check, "value": value, "text": None, "unit": None, "asked_again": False}
    return {**body, **more}


def a_number(_morning: Morning) -> tuple[str, dict[str, Any]]:
    return "check", a_look("temperature", "24.1")


def words(_morning: Morning) -> tuple[str, dict[str, Any]]:
    return "check", a_look("surface", "different", text="A film.")


def all_normal(_morning: Morning) -> tuple[str, dict[str, Any]]:
    return "check", a_look("opening_look", "all_normal")


def a_weight(morning: Morning) -> tuple[str, dict[str, Any]]:
    body = {"container": morning.bottle.code, "gross_mg": 400_000, "text": None, "scale": None}
    return "weigh", {**body, "regulator_on": None}


def a_dose(morning: Morning) -> tuple[str, dict[str, Any]]:
    return "dose", morning.dose_body()


def food(morning: Morning) -> tuple[str, dict[str, Any]]:
    return "feed", morning.feed_body()


Said = Callable[[Morning], tuple[str, dict[str, Any]]]
FACTS = {a_number: Reading, words: Observation, a_weight: Weighing, a_dose: Use, food: Use}
DOES: dict[Said, dict[str, str]] = {
    a_number: {"look": "open", "dose": "held", "feed": "held", "weigh": "held", "work": "held",
               "test": "done"},
    words: {"look": "open", "dose": "held", "feed": "held", "weigh": "held", "work": "held",
            "test": "held"},
    all_normal: {"look": "done", "dose": "no_look", "feed": "no_look", "weigh": "no_look",
                 "work": "no_look", "test": "no_look"},
    a_weight: {"look": "held", "dose": "held", "feed": "held", "weigh": "done", "work": "held",
               "test": "held"},
    a_dose: {"look": "held", "dose": "done", "feed": "held", "weigh": "held", "work": "held",
             "test": "held"},
    food: {"look": "held", "dose": "held", "feed": "done", "weigh": "held", "work": "held",
           "test": "held"},
}  # fmt: skip
"""Entry -> kind of the task that it names -> what becomes of the task, or why the entry waits."""


def a_task(morning: Morning, kind: str) -> DueTask:
    """A task of that kind at T01: work that asks for no number, a test that asks for one."""
    task = morning.task("look" if kind in {"weigh", "work", "test"} else kind)
    if kind in {"weigh", "work", "test"}:
        questions = [{"key": "nitrite", "kind": "reading"}] if kind == "test" else []
        type(task.template).objects.filter(pk=task.template_id).update(
            kind="work" if kind == "test" else kind, questions=questions
        )
    return task


@pytest.mark.parametrize("said", DOES, ids=lambda said: said.__name__)
@pytest.mark.parametrize("kind", ["look", "dose", "feed", "weigh", "work", "test"])
def test_a_task_is_done_by_an_entry_of_a_kind_that_does_it(
    morning: Morning, said: Said, kind: str
) -> None:
    load_parameters()
    stock.a_scale(morning.house.showroom, at=LAST_MONTH)
    task, wanted = a_task(morning, kind), DOES[said][kind]
    what, body = said(morning)
    answer = morning.say(what, body, stop_id=morning.stop(), task_id=str(task.uid))
    task.refresh_from_db()
    if wanted in {"open", "done"}:
        assert (answer.verdict, task.state) == ("accepted", wanted), answer
        return
    code = "other_task" if wanted == "held" else wanted
    assert (answer.verdict, answer.reason, task.state) == ("held", code, "open")
    assert str(task.template.name) in str(answer.words)
    assert not Completion.objects.exists()
    assert not any(rows.objects.exists() for rows in FACTS.values())
    if code == "no_look":
        (verdict,) = waiting_entries(morning.house.showroom)
        assert settle.right_to_accept(verdict) is None, "nothing would follow from it"
        return
    assert accepted_by_a_senior(morning).outcome == "accepted"
    task.refresh_from_db()
    assert FACTS[said].objects.count() == 1, "the fact counts"
    assert task.state == "open", "and the task stays due"


# --- who can do it ------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("skills", "verdict"), [(["C1"], "held"), (["C1", "C2"], "accepted"), (["C3"], "accepted")]
)
def test_a_task_is_handed_to_somebody_with_its_skill(
    morning: Morning, skills: list[str], verdict: str
) -> None:
    task = morning.task("look")
    type(task.template).objects.filter(pk=task.template_id).update(skill="C2")
    to = a_carer(morning.house, "Runa Aldersley", *skills)
    body = morning.skip_body("look", "needs_skill", links=str(to.person.uid))
    answer = morning.say("skip", body, stop_id=morning.stop())
    assert answer.verdict == verdict, answer
    if verdict == "accepted":
        return
    assert answer.reason == "not_skilled"
    assert "needs C2, and Runa Aldersley is not signed off" in str(answer.words)
    assert not Skip.objects.exists()
    accepted_by_a_senior(morning)
    assert Skip.objects.get().links_to == str(to.person.uid)


# --- is the tank empty --------------------------------------------------------------------------
def with_animals(morning: Morning) -> None:
    fish = Species.objects.create(scientific_name="Boraras brigittae", kingdom="animal")
    tank, by = morning.house.tanks["T01"], morning.house.owner
    livestock.arrive(tank=tank, species=fish, count=12, by=by, at=LAST_MONTH)


def with_plants(morning: Morning) -> None:
    PlantGroup.objects.create(
        showroom=morning.house.showroom, layout=morning.house.layouts["T01"], number=1,
        place="foreground", centre_permille=300, height_mm=90, fixing="planted",
        leaf_colour="light_green", from_at=START,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("fill", "told"), [(with_animals, "12 Boraras brigittae"), (with_plants, "1 group of plants")]
)
@pytest.mark.parametrize("kind", ["look", "feed"])
def test_a_tank_in_which_something_lives_by_the_books_is_not_skipped_as_empty(
    morning: Morning, fill: Callable[[Morning], None], told: str, kind: str
) -> None:
    fill(morning)
    body = morning.skip_body(kind, "tank_empty")
    held = morning.say("skip", body, stop_id=morning.stop())
    assert (held.verdict, held.reason) == ("held", "not_empty")
    assert told in str(held.words)
    assert morning.task(kind).state == "open", "it stays due, and is late like any other"
    other = {**body, "task": str(morning.task(kind, "T02").uid)}
    assert morning.say("skip", other, stop_id=morning.stop("T02")).verdict == "accepted"
    accepted_by_a_senior(morning)
    assert morning.task(kind).state == "dropped"


def test_whoever_may_not_correct_lets_no_empty_tank_pass(morning: Morning) -> None:
    with_plants(morning)
    morning.say("skip", morning.skip_body("look", "tank_empty"), stop_id=morning.stop())
    (verdict,) = waiting_entries(morning.house.showroom)
    with pytest.raises(Forbidden, match="may not correct"):
        settle.accept(verdict=verdict, by=morning.carer, at=LATER)
    assert not Skip.objects.exists()
