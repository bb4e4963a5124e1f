"""A layout that grows old is told once, says because of what, and is told no more when it is over.

The six signs and their figures: common practice, no source (``tanks.science.gate_list``).
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gallery_ops.kernel.models import Alert, WorkItem
from gallery_ops.web.because import answers
from maintenance.jobs import decline
from maintenance.models import Completion, DueTask, TaskTemplate
from maintenance.services.templates import load_templates
from tanks.models import GateWord, Layout, Stage
from tanks.services.gates import say_at_gate, set_limit
from tanks.services.stages import advance_stage
from tests.builders.gallery import AT, a_planted_tank, an_owner
from tests.built_once import built_once

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


class World:
    """One layout on show since 400 days, flooded when it began."""

    def __init__(self) -> None:
        self.tank = a_planted_tank("T01", at=AT - 400 * DAY)
        self.showroom = self.tank.showroom
        self.boss = an_owner(self.showroom)
        self.layout = Layout.objects.get(tank=self.tank)
        self.layout.flooded_on = (AT - 400 * DAY).date()
        self.layout.save()

    def say(self, key, days_ago=0, **more):
        at = AT - days_ago * DAY
        return say_at_gate(tank=self.tank, gate="G8", key=key, by=self.boss, at=at, **more)

    def open(self, at=AT):
        decline(self.showroom, "", at)
        return list(Alert.objects.filter(kind="decline", closed_at=None))


built, world = built_once(World)


def test_two_signs_are_told_once_with_their_because_and_close_when_one_is_gone(world):
    assert not WorkItem.objects.filter(kind="decline").exists()
    world.say("bare_stems", number=40)
    assert WorkItem.objects.filter(kind="decline").exists()
    assert world.open() == []
    world.say("black_patches", was_so=True)
    (alert,) = world.open()
    assert (alert.harm_class, alert.subject_key) == ("D", "T01")
    assert alert.sentence == "T01: Layout of T01 grows old, 2 of 6 signs show."
    said = [one.text for one in answers(alert.because)]
    assert said[0] == "Bare lower stems: 40 % of them; asked about above 30 %"
    assert said[1] == "Gas or black patches in the ground"
    assert "3 cannot be told" in said[2]
    assert [one.pk for one in world.open(AT + DAY)] == [alert.pk]
    world.say("bare_stems", number=10)
    assert world.open() == []
    assert Alert.objects.get(pk=alert.pk).closed_at == AT


def test_a_layout_that_was_put_into_decline_asks_nobody_any_more(world):
    world.say("bare_stems", number=40)
    world.say("black_patches", was_so=True)
    assert len(world.open()) == 1
    advance_stage(layout=world.layout, to=Stage.DECLINE, by=world.boss, at=AT)
    assert world.open() == []


def test_three_weeks_of_algae_age_and_this_gallerys_own_figures(world):
    for weeks in (2, 1, 0):
        world.say("algae", days_ago=7 * weeks, number=3)
    assert world.open() == []
    # By hand: 400 days are 13.1 months of 30.44 days.
    set_limit(
        showroom=world.showroom, key="age_months", number=12, reason="ours", by=world.boss, at=AT
    )
    (alert,) = world.open()
    said = [one.text for one in answers(alert.because)]
    assert said[0].endswith("3, 3, 3 of 4 in the last 3 weeks; asked about from 3")
    assert said[1].endswith("13.1 months since it was flooded; asked about above 12")
    set_limit(showroom=world.showroom, key="signs", number=3, reason="ours", by=world.boss, at=AT)
    assert world.open() == []


def test_stems_cut_twice_as_often_count_and_those_of_the_layout_before_do_not(world):
    load_templates(showroom=world.showroom, at=AT - 800 * DAY)
    template = TaskTemplate.objects.get(showroom=world.showroom, key="trim_stems")

    def trimmed(days_ago):
        on = (AT - days_ago * DAY).date()
        task = DueTask.objects.create(
            showroom=world.showroom,
            template=template,
            tank=world.tank,
            subject_key=f"tank:{world.tank.pk}",
            occurrence_key=on.isoformat(),
            due_on=on,
            due_at=AT - days_ago * DAY,
        )
        at = AT - days_ago * DAY
        Completion.objects.create(
            showroom=world.showroom, due_task=task, done_at=at, done_at_corrected=at,
            entered_at=at, person=world.boss.person,
        )  # fmt: skip

    for days_ago in (500, 497, 380, 359, 338, 317, 30, 20):
        trimmed(days_ago)
    world.say("black_patches", was_so=True)
    (alert,) = world.open()
    said = [one.text for one in answers(alert.because)]
    expected = "Trimmed twice as often as at first: 10 days between the last two, at first 21"
    assert said[0] == expected


@pytest.mark.once
def test_as_many_queries_at_200_tanks_as_at_20(world):
    def grow(upto):
        for number in range(Layout.objects.filter(showroom=world.showroom).count(), upto):
            tank = a_planted_tank(f"X{number:03}", showroom=world.showroom, at=AT - 50 * DAY)
            layout = Layout.objects.get(tank=tank)
            GateWord.objects.bulk_create(
                GateWord(
                    showroom=world.showroom, tank=tank, layout=layout, gate="G8", key=key,
                    number=value, was_so=True, done_at=AT, done_at_corrected=AT, entered_at=AT,
                    person=world.boss.person,
                )
                for key, value in (("bare_stems", 40), ("black_patches", None))
            )  # fmt: skip

    def asked():
        with CaptureQueriesContext(connection) as found:
            decline(world.showroom, "", AT)
        return len(found)

    counts = []
    for many in (20, 200):
        grow(many)
        decline(world.showroom, "", AT)
        counts.append(asked())
    assert Alert.objects.filter(kind="decline", closed_at=None).count() == 199
    assert counts[0] == counts[1]
