"""A dose at the wrong tank, a number typed wrong: both entries stay, and the books follow."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gallery_ops.kernel.models import AuditEntry
from inventory.models import Use
from maintenance.actions.apply import Answer
from maintenance.queries.round_entries import entries_of_round
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning
from tests.maintenance.house import a_carer

pytestmark = pytest.mark.django_db


built, morning = built_once(a_morning)

FULL = 500_000


def move(morning: Morning, what: Any, tank: str, **fields: Any) -> Answer:
    wanted = str(what.action_id)
    body = {"moves": wanted, "tank": tank, "reason": "I stood at the wrong tank."}
    return morning.say("move_record", body, corrects=wanted, **fields)


def amend(morning: Morning, what: Any, **changes: Any) -> Answer:
    wanted = str(what.action_id)
    body = {"amends": wanted, "changes": changes, "reason": "typed wrong"}
    return morning.say("amend", body, corrects=wanted)


def given_by_tank(morning: Morning) -> dict[str, int]:
    found = {"T01": 0, "T02": 0}
    for use in Use.objects.standing():
        code = next(key for key, tank in morning.house.tanks.items() if tank.pk == use.tank_id)
        found[code] += use.given_base
    return found


def test_a_moved_dose_counts_at_the_other_tank_only(morning: Morning) -> None:
    first = morning.dose()
    later = AT + timedelta(hours=3)
    assert move(morning, first, "T02", at=later, done_at=later).verdict == "accepted"
    assert given_by_tank(morning) == {"T01": 0, "T02": 3000}
    assert morning.level() == FULL - 3000
    assert morning.task("dose", "T01").state == "open"
    assert morning.task("dose", "T02").state == "done"
    use = Use.objects.standing().get()
    assert use.done_at_corrected == AT, "it was given when it was given"
    entry = AuditEntry.objects.get(deed="entry.move_record")
    assert entry.subject_key == first.action_id
    assert entry.reason == "I stood at the wrong tank."


def test_the_pack_shows_both_lines(morning: Morning) -> None:
    first = morning.dose()
    there = move(morning, first, "T02", **morning.at_stop("dose"))
    shown = entries_of_round(morning.round)
    (old,), (new,) = shown[morning.stop("T01")], shown[morning.stop("T02")]
    assert old["became"] == {
        "kind": "move_record",
        "moves": first.action_id,
        "tank": "T02",
        "reason": "I stood at the wrong tank.",
    }
    assert (new["action_id"], new["corrects"]) == (there.action_id, first.action_id)
    assert (new["kind"], new["body"]["given_ul"]) == ("dose", 3000)
    assert new["task_id"] == str(morning.task("dose", "T02").uid)


def test_moved_twice_by_two_people_it_is_moved_once(morning: Morning) -> None:
    first = morning.dose()
    assert move(morning, first, "T02").verdict == "accepted"
    second = move(morning, first, "T02")
    assert (second.verdict, second.reason) == ("held", "settled_already")
    assert morning.carer.person.name in (second.words or "")
    assert given_by_tank(morning) == {"T01": 0, "T02": 3000}


def test_the_move_itself_is_moved_back(morning: Morning) -> None:
    there = move(morning, morning.dose(), "T02")
    assert move(morning, there, "T01").verdict == "accepted"
    assert given_by_tank(morning) == {"T01": 3000, "T02": 0}
    assert morning.level() == FULL - 3000


def test_undone_it_is_not_moved_any_more(morning: Morning) -> None:
    first = morning.dose()
    morning.undo(first)
    held = move(morning, first, "T02")
    assert (held.verdict, held.reason) == ("held", "settled_already")
    assert given_by_tank(morning) == {"T01": 0, "T02": 0}
    assert morning.level() == FULL


def test_a_move_undone_leaves_neither(morning: Morning) -> None:
    there = move(morning, morning.dose(), "T02")
    assert morning.undo(there).verdict == "accepted"
    assert given_by_tank(morning) == {"T01": 0, "T02": 0}
    assert morning.level() == FULL
    assert morning.task("dose", "T02").state == "open"


def test_a_move_that_comes_first_waits_for_its_entry(morning: Morning) -> None:
    late = morning.action("dose", morning.dose_body(), **morning.at_stop("dose"))
    body = {"moves": late["action_id"], "tank": "T02", "reason": "wrong tank"}
    held = morning.say("move_record", body, corrects=late["action_id"])
    assert (held.verdict, held.reason) == ("held", "unknown")
    assert morning.send([late])[0].verdict == "accepted"
    assert given_by_tank(morning) == {"T01": 3000, "T02": 0}


def test_another_persons_entry_needs_the_right_to_correct(morning: Morning) -> None:
    first = morning.dose()
    other = a_carer(morning.house, "Una Marlow", "C1")
    held = move(morning, first, "T02", person_id=str(other.person.uid))
    assert (held.verdict, held.reason) == ("held", "needs_senior")
    owner = str(morning.house.owner.person.uid)
    assert move(morning, first, "T02", person_id=owner).verdict == "accepted"
    assert Use.objects.standing().get().person == morning.carer.person


def test_a_tank_that_is_none_and_a_tank_that_it_is(morning: Morning) -> None:
    first = morning.dose()
    assert move(morning, first, "T77").reason == "unknown"
    assert move(morning, first, "T01").reason == "same_tank"
    assert given_by_tank(morning) == {"T01": 3000, "T02": 0}


def test_food_a_skip_and_a_reading_move_too(morning: Morning) -> None:
    fed = morning.say("feed", morning.feed_body(), **morning.at_stop("feed"))
    assert move(morning, fed, "T02").verdict == "accepted"
    assert morning.task("feed", "T02").state == "done"
    left = morning.say("skip", morning.skip_body(reason="not_needed", text="12 ppm"))
    assert move(morning, left, "T02").verdict == "accepted"
    assert morning.task("dose", "T01").state == "open"
    assert morning.task("dose", "T02").state == "skipped"


def test_an_amount_typed_wrong_is_put_right(morning: Morning) -> None:
    first = morning.dose(13_000)
    assert amend(morning, first, given_ul=3000).verdict == "accepted"
    assert morning.level() == FULL - 3000
    assert morning.task("dose").state == "done"
    assert given_by_tank(morning) == {"T01": 3000, "T02": 0}
    assert amend(morning, first, given_ul=2000).reason == "settled_already"


def test_what_an_entry_does_not_have_is_not_put_right(morning: Morning) -> None:
    held = amend(morning, morning.dose(), given_mg=5)
    assert (held.verdict, held.reason) == ("held", "not_to_be_amended")
    assert morning.level() == FULL - 3000


def test_an_entry_that_names_itself_is_held(morning: Morning) -> None:
    action = morning.action("move_record", {})
    action["body"] = {"moves": action["action_id"], "tank": "T02", "reason": "x"}
    action["corrects"] = action["action_id"]
    assert morning.send([action])[0].reason == "unknown"


DEEDS = st.lists(
    st.tuples(
        st.sampled_from(["dose", "undo", "move", "amend"]),
        st.integers(0, 5),
        st.sampled_from(["T01", "T02"]),
        st.integers(1, 9000),
    ),
    min_size=2,
    max_size=7,
)


@pytest.mark.once
@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(DEEDS)
def test_whatever_the_order_the_bottle_holds_what_was_not_given(
    morning: Morning, deeds: list[tuple[str, int, str, int]]
) -> None:
    """Each dose counts once at most: level = opening - sum of standing doses, after each step."""
    for kind, which, tank, amount in deeds:
        said = [row for row in morning.sent if row["kind"] in {"dose", "move_record", "amend"}]
        if kind == "dose" or not said:
            morning.dose(amount, tank)
        else:
            wanted = Answer(said[which % len(said)]["action_id"], "")
            if kind == "undo":
                morning.undo(wanted)
            elif kind == "move":
                move(morning, wanted, tank)
            else:
                amend(morning, wanted, given_ul=amount)
        assert morning.level() == FULL - sum(given_by_tank(morning).values())
        doses = sum(row["kind"] == "dose" for row in morning.sent)
        assert Use.objects.standing().count() <= doses
