"""A tablet that still has the pack of before: what it says lands in the glass of that moment."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Alert
from gallery_ops.overview.apart import join
from gallery_ops.overview.new_glass import Glass, new_glass, reglaze
from inventory.models import Supply, Use
from maintenance.models import Completion, DueTask, HandoverLine, Observation, Stop
from maintenance.queries.round_pack import round_pack
from maintenance.services import double_doses
from tanks.models import Tank
from tests.builders.fleet import a_fleet
from tests.maintenance.actions.saying import AT, Morning, a_morning

pytestmark = pytest.mark.django_db

WANTED = Glass(600, 300, 540, 8, "float")


def replaced(morning: Morning, days: int = 0) -> tuple[Tank, Tank]:
    tank = morning.house.tanks["T01"]
    Supply.objects.create(
        showroom=tank.showroom, item=morning.bottle.item, purpose="dose",
        container=morning.bottle, tank=tank, from_at=AT - timedelta(days=1),
    )  # fmt: skip
    new = reglaze(
        by=morning.house.owner, code="T01", wanted=WANTED, reason="A crack", seen=str(tank.pk),
        at=AT + timedelta(days=days, hours=1),
    ).tank  # fmt: skip
    return tank, new


def test_what_was_done_before_belongs_to_the_old_glass_and_after_to_the_new(
    morning: Morning,
) -> None:
    task, stop, body = morning.task("dose"), morning.at_stop("dose"), morning.dose_body()
    old, new = replaced(morning)
    arrives = AT + timedelta(hours=3)
    assert DueTask.objects.get(pk=task.pk).tank == new
    before = morning.say("dose", body, **stop, done_at=AT, at=arrives)
    later = AT + timedelta(hours=2)
    after = morning.say("dose", body, **stop, done_at=later, at=arrives)
    assert (before.verdict, after.verdict) == ("accepted", "accepted")
    said = Use.objects.order_by("done_at_corrected").values_list("tank", "container", "given_base")
    assert list(said) == [(old.pk, morning.bottle.pk, 3000), (new.pk, morning.bottle.pk, 3000)]
    assert morning.level() == 500_000 - 6000
    assert Completion.objects.standing().filter(due_task=task).count() == 2
    for when, glass in ((AT, old), (later, new)):
        line = {
            "tank": "T01", "line": "worry", "text": "Clear water", "by": None, "source": None,
            "entry": None, "handed_to": None,
        }  # fmt: skip
        said_so = morning.say("handover_line", line, done_at=when, at=arrives)
        assert said_so.verdict == "accepted", said_so
        assert HandoverLine.objects.order_by("-pk")[0].tank == glass


@pytest.fixture
def morning() -> Morning:
    return a_morning()


@pytest.mark.once
def test_looking_and_replacing_ask_as_often_in_a_larger_house() -> None:
    asked = []
    for size in (3, 12):
        house = a_fleet(size, f"gallery-{size}")
        with CaptureQueriesContext(connection) as looked:
            new_glass(house.showroom, "T0001", AT, WANTED)
        with CaptureQueriesContext(connection) as done:
            reglaze(
                by=house.owner, code="T0001", wanted=WANTED, reason="A crack",
                seen=str(house.tanks[0].pk), at=AT + timedelta(hours=1),
            )  # fmt: skip
        asked.append((len(looked), len(done)))
    assert asked[0] == asked[1]
    assert asked[0][0] <= 20


def test_a_stop_of_yesterdays_round_lands_in_the_glass_of_then(morning: Morning) -> None:
    tank = morning.house.tanks["T01"]
    task, stop = morning.task("dose"), morning.at_stop("dose")
    old, new = replaced(morning, days=1)
    assert Stop.objects.get(uid=stop["stop_id"]).tank == old == tank
    assert DueTask.objects.get(pk=task.pk).tank == new
    arrives = AT + timedelta(days=1, hours=3)
    said = morning.say("dose", morning.dose_body(), **stop, done_at=AT, at=arrives)
    assert said.verdict == "accepted", said
    assert Use.objects.get().tank == old
    assert Completion.objects.standing().filter(due_task=task).count() == 1
    elsewhere = {"stop_id": morning.stop("T02"), "task_id": stop["task_id"]}
    held = morning.say("dose", morning.dose_body(), **elsewhere, done_at=AT, at=arrives)
    assert (held.verdict, held.reason) == ("held", "task_elsewhere")


def test_what_is_said_after_a_join_lands_where_the_animals_went(morning: Morning) -> None:
    into, stop = morning.house.tanks["T02"], {"stop_id": morning.stop("T01")}
    at = AT + timedelta(hours=1)
    join(by=morning.house.owner, code="T01", into="T02", at=at, reason="One pair was left")
    note = {"tank": None, "text": "All hide behind the wood"}
    for done_at in (AT, AT + timedelta(hours=2)):
        said = morning.say("note", note, **stop, done_at=done_at, at=AT + timedelta(hours=3))
        assert said.verdict == "accepted", said
    tanks = Observation.objects.order_by("done_at_corrected").values_list("tank", flat=True)
    assert list(tanks) == [morning.house.tanks["T01"].pk, into.pk]


def test_a_dose_of_the_old_glass_is_the_first_one_of_the_day_in_the_new(morning: Morning) -> None:
    stop, at = morning.at_stop("dose"), AT + timedelta(hours=2)
    before = morning.say("dose", morning.dose_body(), round_id=None, **stop)
    skip = morning.skip_body(reason="already_done", links=str(before.action_id))
    _old, new = replaced(morning)
    owner, round_ = morning.house.owner, morning.round
    stops = round_pack(new.showroom, round_, owner, at)["stops"]
    (dose,) = next(one for one in stops if one["tank"] == "T01")["doses"]
    assert [one["action_id"] for one in dose["given_today"]] == [str(before.action_id)]
    skipped = morning.say("skip", skip, **stop, done_at=at, at=at)
    assert skipped.verdict == "accepted", skipped
    double_doses.review(new.showroom, at)
    assert not Alert.objects.filter(kind="double_dose").exists()
    assert morning.say("dose", morning.dose_body(), **stop, done_at=at, at=at).verdict == "accepted"
    double_doses.review(new.showroom, at)
    (alert,) = Alert.objects.filter(kind="double_dose")
    assert (alert.subject_key, alert.because[0]["times"]) == ("T01", 2)
