"""Who set which range when and why, and old readings held against the range of their day."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from tanks.models import ParameterRange
from tanks.queries.range_history import RangesThen
from tanks.services.catalogue import load_parameters
from tanks.services.ranges import set_range
from tanks.services.readings import record_reading
from tests.builders.gallery import AT, a_planted_tank, an_owner
from tests.built_once import built_once

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NONE = {"ask_low": None, "ask_high": None, "alarm_low": None, "alarm_high": None}


def _build():
    load_parameters()
    tank = a_planted_tank("T07", at=AT - 60 * DAY)
    tank.layouts.update(style="wood")
    return tank, an_owner(tank.showroom)


built, world = built_once(_build)


def hold(world, days_ago, reason, *, style="", **sides):
    tank, owner = world
    set_range(
        showroom=tank.showroom, key="temperature", sides={**NONE, **sides}, reason=reason,
        by=owner, at=AT - days_ago * DAY, tank=None if style else tank, style=style,
    )  # fmt: skip


def test_each_moment_has_the_ranges_that_held_then(world):
    usual = RangesThen(world[0], "wood").at("temperature", AT)
    hold(world, 30, "cool wood", style="wood", alarm_high=26)
    hold(world, 20, "shrimps", alarm_high=25)
    hold(world, 10, "shrimps gone")
    then = RangesThen(world[0], "wood")

    def high(days_ago):
        return then.at("temperature", AT - days_ago * DAY).alarm_high

    assert [high(days) for days in (40, 30, 25, 20, 15, 10, 0)] == [
        usual.alarm_high, 26, 26, 25, 25, 26, 26,
    ]  # fmt: skip
    assert [one.reason for one in then.changes()] == ["shrimps gone", "shrimps", "cool wood"]


def test_a_range_that_nobody_set_here_holds_at_any_time(world):
    tank, _owner = world
    usual = RangesThen(tank, "wood")
    ParameterRange.objects.create(
        showroom=tank.showroom, parameter=usual.parameters["ph"], tank=tank, alarm_high=7
    )
    assert RangesThen(tank, "wood").at("ph", AT - 50 * DAY).alarm_high == 7


def test_the_pages_say_who_and_why_and_what_was_wanted_then(world, client, monkeypatch):
    tank, owner = world
    monkeypatch.setenv("GALLERY_OPS_CLOCK", AT.isoformat())
    client.force_login(owner.person)
    hold(world, 20, "shrimps", alarm_high=25)
    for days_ago in (30, 15):
        record_reading(
            tank=tank, parameter="temperature", text="26", by=owner, at=AT - days_ago * DAY
        )
    hold(world, 10, "shrimps gone")
    page = client.get(reverse("tank_ranges", args=["T07"])).content.decode()
    assert "alert above <s>the usual</s> <b>25</b>" in page
    assert "alert above <s>25</s> <b>the usual</b>" in page
    assert page.count(owner.person.name) >= 2
    readings = client.get(reverse("tank_readings", args=["T07"])).content.decode()
    assert readings.count("wanted then:") == 1
    assert "to 25 °C" in readings
