"""Looks, skips, animals, notes, weighings and rounds: applied, held, taken back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from inventory.models import LivestockBatch, LivestockMovement, Use, Weighing
from inventory.services import livestock
from maintenance.models import Completion, DueTask, Observation, Round, Skip, SkipReason, Stop
from maintenance.queries.pack_words import parameters_json
from tanks.models import Reading, Species
from tanks.services.catalogue import load_parameters
from tests.builders import stock
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer

pytestmark = pytest.mark.django_db


built, morning = built_once(a_morning)


def a_look(value: str = "all_normal", check: str = "opening_look", **more: Any) -> dict[str, Any]:
    return {
        "check": check,
        "value": value,
        "text": None,
        "unit": None,
        "asked_again": False,
        **more,
    }


# --- looks --------------------------------------------------------------------------------------
def test_all_as_it_should_be_completes_the_look_and_is_never_a_number(morning: Morning) -> None:
    body = a_look(looks=["animals", "temperature"])
    assert morning.say("check", body, **morning.at_stop("look")).verdict == "accepted"
    assert morning.task("look").state == "done"
    assert not Reading.objects.exists()
    assert Completion.objects.get().answers["looks"] == ["animals", "temperature"]


def test_a_number_is_a_reading_as_typed_and_does_not_stand_for_the_look(morning: Morning) -> None:
    load_parameters()
    body = a_look("24.1", "temperature", text="24,1", unit="°C")
    assert morning.say("check", body, **morning.at_stop("look")).verdict == "accepted"
    reading = Reading.objects.get()
    assert (reading.value, reading.text_as_typed) == (24.1, "24,1")
    assert morning.task("look").state == "open"


def test_every_word_that_a_tablet_offers_counts_by_its_code_whatever_its_label(
    morning: Morning,
) -> None:
    load_parameters()
    offered = [
        (key, option)
        for key, about in parameters_json().items()
        for option in about.get("options", [])
    ]
    renamed = {option["code"] for _key, option in offered if option["label"] != option["code"]}
    assert renamed >= {"weaker", "blue_green", "damp", "low"}
    for key, option in offered:
        body = a_look(option["code"], key, text=option["label"])
        said = morning.say("check", body, stop_id=morning.stop())
        assert said.verdict == "accepted", (key, option, said)
    kept = set(Reading.objects.values_list("parameter__key", "word"))
    assert kept == {(key, option["code"]) for key, option in offered}


def test_an_impossible_number_is_held_and_a_doubtful_one_until_it_was_asked_again(
    morning: Morning,
) -> None:
    load_parameters()
    where = {"stop_id": morning.stop()}
    assert morning.say("check", a_look("241", "temperature"), **where).verdict == "held"
    doubtful = morning.say("check", a_look("33.5", "temperature"), **where)
    assert doubtful.verdict == "held", doubtful
    sure = morning.say("check", a_look("33.5", "temperature", asked_again=True), **where)
    assert sure.verdict == "accepted"
    assert [row.value for row in Reading.objects.all()] == [33.5]


def test_a_reading_is_taken_back(morning: Morning) -> None:
    load_parameters()
    said = morning.say("check", a_look("24.1", "temperature"), stop_id=morning.stop())
    assert morning.undo(said).verdict == "accepted"
    assert not Reading.objects.standing().exists()


def test_something_different_is_kept_in_words(morning: Morning) -> None:
    body = a_look("different", "surface", text="A film on the water.")
    said = morning.say("check", body, **morning.at_stop("look"))
    assert said.verdict == "accepted"
    assert Observation.objects.get().text == "A film on the water."
    morning.undo(said)
    assert not Observation.objects.standing().exists()


def test_heads_counted_are_kept_by_batch(morning: Morning) -> None:
    counts = [{"batch": "x", "count": 11}]
    body = a_look("counted", "animals", counts=counts)
    assert morning.say("check", body, stop_id=morning.stop()).verdict == "accepted"
    assert Observation.objects.get().data["counts"] == counts


def test_what_could_not_be_measured_says_why(morning: Morning) -> None:
    body = {"check": "temperature", "reason": "The thermometer is broken."}
    assert morning.say("unable", body, stop_id=morning.stop()).verdict == "accepted"
    assert Observation.objects.get(kind="unable").key == "temperature"


# --- skips --------------------------------------------------------------------------------------
AFTERWARDS = {
    "not_needed": "skipped",
    "short_of_time": "open",
    "needs_skill": "open",
    "out_of_stock": "open",
    "tool_broken": "open",
    "animals_rest": "open",
    "event": "open",
    "tank_empty": "dropped",
    "danger": "open",
    "already_done": "done",
    "no_supply": "open",
    "other": "open",
}


@pytest.mark.parametrize("reason", AFTERWARDS)
def test_each_reason_has_its_effect_and_moves_no_stock(morning: Morning, reason: str) -> None:
    links = str(morning.carer.person.uid) if reason == "needs_skill" else None
    claim = {"person": None, "name": "Odile Marsh", "at": "2026-03-12T07:00"}
    more = {"text": "As seen.", "until": "2026-03-13", "links": links, "claim": claim}
    said = morning.say("skip", morning.skip_body(reason=reason, **more), stop_id=morning.stop())
    assert said.verdict == "accepted", said
    assert DueTask.objects.get(uid=morning.task("dose").uid).state == AFTERWARDS[reason]
    assert morning.level() == 500_000
    left_out = [(use.is_skip, use.given_base, use.planned_base) for use in Use.objects.all()]
    if reason in {"already_done", "tank_empty"}:
        assert left_out == [], "given by somebody else, or nothing to give: no dose was left out"
    else:
        assert left_out == [(True, 0, 3000)]


def test_every_reason_of_the_books_is_among_them() -> None:
    assert set(AFTERWARDS) == set(SkipReason.values)


@pytest.mark.parametrize(
    ("reason", "more"),
    [
        ("not_needed", {}),
        ("other", {"text": "  "}),
        ("animals_rest", {}),
        ("event", {"text": "Filming."}),
        ("already_done", {}),
        ("already_done", {"text": "Odile, at seven"}),
        ("animals_rest", {"until": "2026-03-12"}),
        ("event", {"until": "2026-03-12T08:08"}),
        ("event", {"until": "2026-13-45"}),
        ("event", {"until": "2026-03-12T99:99"}),
        ("event", {"until": "9999-12-31"}),
        ("event", {"until": "0001-01-01"}),
    ],
)
def test_a_reason_without_what_it_asks_for_is_held(
    morning: Morning, reason: str, more: dict[str, Any]
) -> None:
    held = morning.say("skip", morning.skip_body(reason=reason, **more))
    assert held.verdict == "held"
    assert held.reason in {"reason_incomplete", "bad_until"}
    assert not Skip.objects.exists()


def test_a_rest_lasts_until_the_local_hour(morning: Morning) -> None:
    body = morning.skip_body(reason="event", until="2026-06-01T14:30")
    assert morning.say("skip", body).verdict == "accepted"
    assert morning.task("dose").rests_until_at == datetime(2026, 6, 1, 13, 30, tzinfo=UTC)


def test_a_broken_tool_is_also_a_fault(morning: Morning) -> None:
    body = morning.skip_body("look", "tool_broken", text="The ladder wobbles.")
    assert morning.say("skip", body).verdict == "accepted"
    assert Observation.objects.get(kind="fault").text == "The ladder wobbles."


def test_a_skip_taken_back_leaves_the_task_due(morning: Morning) -> None:
    said = morning.say("skip", morning.skip_body(reason="danger"))
    assert Use.objects.standing().count() == 1
    assert morning.undo(said).verdict == "accepted"
    assert morning.task("dose").state == "open"
    assert not Use.objects.standing().exists()


def test_the_longest_words_of_a_skip_are_kept_whole(morning: Morning) -> None:
    words = "pale leaves " * 41
    morning.say("skip", morning.skip_body(reason="not_needed", text=words))
    assert Skip.objects.get().text == words


def test_done_wins_over_a_skip_whichever_came_first(morning: Morning) -> None:
    morning.say("skip", morning.skip_body(reason="not_needed", text="pale leaves"))
    assert morning.dose().verdict == "accepted"
    assert morning.task("dose").state == "done"
    morning.say("skip", morning.skip_body(reason="not_needed", text="pale leaves"))
    assert morning.task("dose").state == "done"


# --- tasks and skills ---------------------------------------------------------------------------
def of_skill(morning: Morning, skill: str) -> DueTask:
    found = DueTask.objects.filter(showroom=morning.house.showroom, template__skill=skill).first()
    assert found is not None
    return found


def completing(task: DueTask) -> dict[str, Any]:
    return {"task": str(task.uid), "minutes": 12, "answers": {}}


def test_a_task_needs_its_skill(morning: Morning) -> None:
    task = of_skill(morning, "C2")
    novice = a_carer(morning.house, "Pia Sandgrove", "C1")
    held = morning.say("complete", completing(task), person_id=str(novice.person.uid))
    assert (held.verdict, held.reason) == ("held", "wrong_skill")
    assert "Pia Sandgrove" in str(held.words)
    assert morning.say("complete", completing(task)).verdict == "accepted"


def test_a_higher_skill_includes_the_lower(morning: Morning) -> None:
    able = a_carer(morning.house, "Odile Marsh", "C3")
    task = of_skill(morning, "C2")
    said = morning.say("complete", completing(task), person_id=str(able.person.uid))
    assert said.verdict == "accepted"


def test_an_entry_more_than_twelve_hours_later_is_marked_as_late(morning: Morning) -> None:
    for hours, is_late in ((12, False), (13, True)):
        body = a_look()
        morning.say("check", body, **morning.at_stop("look"), at=AT + timedelta(hours=hours))
        newest = Completion.objects.latest("pk")
        assert newest.entered_late is is_late
        assert newest.done_at_corrected == AT


# --- animals ------------------------------------------------------------------------------------
def a_shoal(morning: Morning) -> LivestockBatch:
    fish = Species.objects.create(scientific_name="Boraras brigittae", kingdom="animal")
    return livestock.arrive(
        tank=morning.house.tanks["T01"],
        species=fish,
        count=12,
        by=morning.house.owner,
        at=AT - timedelta(days=10),
    ).batch


def an_animal(what: str = "dead", batch: str | None = None, count: int = 1) -> dict[str, Any]:
    return {
        "what": what,
        "batch": batch,
        "species_unsure": batch is None,
        "count": count,
        "text": None,
    }


def test_a_death_is_booked_and_can_be_taken_back(morning: Morning) -> None:
    batch = a_shoal(morning)
    said = morning.say("animal", an_animal(batch=str(batch.uid)), stop_id=morning.stop())
    assert said.verdict == "accepted", said
    assert LivestockMovement.objects.filter(kind="die").count() == 1
    morning.undo(said)
    assert not LivestockMovement.objects.standing().filter(kind="die").exists()


def test_more_dead_than_there_were_waits_for_a_person(morning: Morning) -> None:
    batch = a_shoal(morning)
    held = morning.say("animal", an_animal(batch=str(batch.uid), count=13), stop_id=morning.stop())
    assert held.verdict == "held"
    assert not LivestockMovement.objects.filter(kind="die").exists()
    assert not Observation.objects.exists()


def test_a_death_that_nobody_can_name_is_kept_in_words(morning: Morning) -> None:
    assert morning.say("animal", an_animal(), stop_id=morning.stop()).verdict == "accepted"
    assert Observation.objects.get().data["species_unsure"] is True
    unknown = morning.say("animal", an_animal(batch="not a batch"), stop_id=morning.stop())
    assert (unknown.verdict, unknown.reason) == ("held", "unknown")


# --- weighing, notes, rounds --------------------------------------------------------------------
def a_weighing(container: str, gross_mg: int = 400_000) -> dict[str, Any]:
    return {
        "container": container,
        "gross_mg": gross_mg,
        "text": "400",
        "scale": None,
        "regulator_on": None,
    }


def test_a_weighing_says_what_is_left_and_can_be_taken_back(morning: Morning) -> None:
    stock.a_scale(morning.house.showroom, at=AT - timedelta(days=30))
    said = morning.say("weigh", a_weighing(morning.bottle.code))
    assert said.verdict == "accepted", said
    assert morning.level() == Weighing.objects.get().net_base != 500_000
    assert morning.undo(said).verdict == "accepted"
    assert morning.level() == 500_000


def test_a_weighing_of_nothing_known_or_below_empty_is_held(morning: Morning) -> None:
    stock.a_scale(morning.house.showroom, at=AT - timedelta(days=30))
    assert morning.say("weigh", a_weighing("ZZZZZZZZ")).reason == "unknown"
    assert morning.say("weigh", a_weighing(morning.bottle.code, 10_000)).reason == "below_empty"
    assert morning.level() == 500_000


def test_a_note_is_kept_with_its_tank_or_without(morning: Morning) -> None:
    assert morning.say("note", {"text": "Door sticks."}).verdict == "accepted"
    assert morning.say("note", {"text": "Pale."}, stop_id=morning.stop()).verdict == "accepted"
    assert [row.tank_id for row in Observation.objects.order_by("pk")] == [
        None, morning.house.tanks["T01"].pk,
    ]  # fmt: skip


def test_a_round_is_begun_once_and_closed_with_reasons(morning: Morning) -> None:
    assert morning.say("round_open", {"position": None}).verdict == "accepted"
    left = [{"stop": morning.stop("T02"), "reason": "Filming."}]
    body = {"left_open": left, "hand_over_to": None}
    later = AT + timedelta(minutes=50)
    assert morning.say("round_close", body, done_at=later, at=later).verdict == "accepted"
    row = Round.objects.get(pk=morning.round.pk)
    assert (row.person, row.opened_at, row.closed_at) == (morning.carer.person, AT, later)
    assert Stop.objects.get(uid=morning.stop("T02")).left_open_reason == "Filming."
    lost = morning.say("round_open", {"position": None}, round_id=None)
    assert (lost.verdict, lost.reason) == ("held", "unknown")


def test_leaving_a_stop_is_only_kept(morning: Morning) -> None:
    body = {"done": 1, "of": 3, "reason": None}
    assert morning.say("stop_leave", body, stop_id=morning.stop()).verdict == "accepted"
    assert morning.task("look").state == "open"
