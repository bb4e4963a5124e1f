"""What was given reaches the ledger once, completes its task, and can be taken back."""

from __future__ import annotations

from datetime import timedelta

import pytest

from gallery_ops.kernel.models import Alert
from gallery_ops.kernel.values.quantity import Volume
from inventory.models import Use, UsePlan
from inventory.services.plans import PlanLine, set_plan
from maintenance.models import Completion
from maintenance.services import double_doses
from tests.builders import stock
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, Morning, a_morning

pytestmark = pytest.mark.django_db


built, morning = built_once(a_morning)


def test_a_dose_leaves_the_bottle_and_completes_its_task(morning: Morning) -> None:
    assert morning.dose().verdict == "accepted"
    assert morning.level() == 500_000 - 3000
    assert morning.task("dose").state == "done"
    use = Use.objects.get()
    assert (use.given_base, use.planned_base, use.business_on.isoformat()) == (
        3000, 3000, "2026-03-12",
    )  # fmt: skip


def test_presses_count_as_what_a_press_of_this_pump_gives(morning: Morning) -> None:
    body = {"presses": 3, "per_press_ul": 1000}
    assert morning.dose(3000, body=body).verdict == "accepted"
    assert Use.objects.get().presses == 3
    assert morning.level() == 500_000 - 3000


def test_food_leaves_the_tub(morning: Morning) -> None:
    said = morning.say("feed", morning.feed_body(), **morning.at_stop("feed"))
    assert said.verdict == "accepted"
    assert morning.level(morning.tub) == 100_000 - 60
    assert morning.task("feed").state == "done"


def test_a_second_dose_of_the_day_asks_and_both_reach_the_ledger(morning: Morning) -> None:
    first = morning.dose()
    again = {"earlier": first.action_id, "reason": "The first went beside the tank."}
    assert morning.dose(body={"again": again}).verdict == "accepted"
    assert morning.level() == 500_000 - 6000
    assert Completion.objects.standing().filter(due_task=morning.task("dose")).count() == 2
    double_doses.review(morning.house.showroom, AT)
    alert = Alert.objects.get(kind="double_dose", closed_at=None)
    assert alert.subject_key == "T01"
    assert "6 mL" in alert.sentence


def test_a_taken_back_second_dose_closes_the_question(morning: Morning) -> None:
    morning.dose()
    second = morning.dose()
    double_doses.review(morning.house.showroom, AT)
    assert morning.undo(second).verdict == "accepted"
    double_doses.review(morning.house.showroom, AT)
    assert not Alert.objects.filter(kind="double_dose", closed_at=None).exists()
    assert morning.level() == 500_000 - 3000
    assert morning.task("dose").state == "done"


def test_more_than_five_times_the_plan_waits_for_a_person(morning: Morning) -> None:
    held = morning.dose(15_001)
    assert (held.verdict, held.reason) == ("held", "out_of_range")
    assert held.help is not None
    assert morning.level() == 500_000
    assert morning.task("dose").state == "open"
    assert morning.dose(15_000).verdict == "accepted"


def test_a_tablet_cannot_talk_the_plan_up_or_away(morning: Morning) -> None:
    for planned in (0, 10**9):
        assert morning.dose(400_000, body={"planned_ul": planned}).verdict == "held"
    pressed = {"presses": 400, "per_press_ul": 1}
    assert morning.dose(3000, body=pressed).verdict == "held"
    assert morning.say(
        "feed", {**morning.feed_body(10**6), "planned_mg": 10**9}, **morning.at_stop("feed")
    ).verdict == "held"  # fmt: skip
    assert morning.level() == 500_000


def test_what_nobody_planned_counts_up_to_a_quarter_litre(morning: Morning) -> None:
    other = stock.a_fertiliser(morning.house.showroom, at=AT - timedelta(days=30))
    body = morning.dose_body(250_000, product=str(other.uid), planned_ul=0)
    assert morning.say("dose", body, stop_id=morning.stop()).verdict == "accepted"
    body = morning.dose_body(250_001, product=str(other.uid), planned_ul=0)
    assert morning.say("dose", body, stop_id=morning.stop()).verdict == "held"


def test_a_dose_follows_the_version_of_the_plan_that_the_tablet_knew(morning: Morning) -> None:
    known = UsePlan.objects.get(tank=morning.house.tanks["T01"], purpose="dose")
    set_plan(
        tank=morning.house.tanks["T01"],
        item=morning.house.fertiliser,
        purpose="dose",
        from_on=AT.date(),
        lines=[PlanLine(Volume.ml(1))],
        by=morning.house.owner,
        at=AT - timedelta(minutes=5),
    )
    assert morning.dose(plan_version=str(known.uid)).verdict == "accepted"
    use = Use.objects.get()
    assert (use.plan, use.planned_base) == (known, 3000)


def test_a_plan_of_another_tank_is_not_taken_for_its_own(morning: Morning) -> None:
    other = UsePlan.objects.get(tank=morning.house.tanks["T02"], purpose="dose")
    assert morning.dose(plan_version=str(other.uid)).verdict == "accepted"
    assert Use.objects.get().plan == UsePlan.objects.get(
        tank=morning.house.tanks["T01"], purpose="dose"
    )


def test_a_dose_taken_back_is_back_in_the_bottle_and_due_again(morning: Morning) -> None:
    said = morning.dose()
    assert morning.undo(said).verdict == "accepted"
    assert morning.level() == 500_000
    assert morning.task("dose").state == "open"
    assert Use.objects.standing().count() == 0
    assert Use.objects.count() == 2, "both facts stay"


def test_a_dose_at_the_wrong_stop_waits_for_a_person(morning: Morning) -> None:
    crossed = {"stop_id": morning.stop("T01"), "task_id": str(morning.task("dose", "T02").uid)}
    held = morning.say("dose", morning.dose_body(), **crossed)
    assert (held.verdict, held.reason) == ("held", "task_elsewhere")
    assert morning.level() == 500_000, "the dose went back together with its task"


def test_no_bottle_connected_is_no_reason_not_to_record_care(morning: Morning) -> None:
    other = stock.a_fertiliser(morning.house.showroom, at=AT - timedelta(days=30))
    body = morning.dose_body(2000, product=str(other.uid))
    assert morning.say("dose", body, stop_id=morning.stop()).verdict == "accepted"
    assert Use.objects.get(item=other).container is None
