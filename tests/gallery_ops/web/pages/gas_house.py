"""A gallery with one cylinder under one tank, and how its pages are asked and read."""

from __future__ import annotations

import re
from datetime import date, timedelta

from gallery_ops.kernel.services.people import grant_skill
from gallery_ops.kernel.values.quantity import Mass
from tanks.services.rooms import measure_room
from tests.builders.gallery import AT, a_room, a_showroom, a_tank, an_owner
from tests.builders.stock import a_cylinder, a_gas, a_plan


def gas_house():
    """Owner, tank and its cylinder of 2 kg, sixty days old."""
    showroom = a_showroom()
    owner = an_owner(showroom)
    tank = a_tank(showroom=showroom)
    gas = a_gas(showroom)
    one = a_cylinder(
        gas, tank=tank, fill=Mass.kg(2), tare=Mass.g(3120), at=AT - timedelta(days=60),
        regulator=Mass.g(640), held_by="chained", place="behind it",
        next_test_on=date(2031, 5, 1), test_rule="typed", tested_on=date(2021, 5, 1),
    )  # fmt: skip
    a_plan(tank, gas, Mass.g(8), purpose="gas", at=AT - timedelta(days=60))
    return owner, tank, one


def measured(owner, **changes):
    room = a_room(owner.showroom)
    fields = {"volume_m3": 148, "has_gas_alarm": True, **changes}
    return measure_room(
        room=room, measured_by="Maud", measured_on=date(2024, 3, 1), by=owner, at=AT, **fields
    )


def sign_off(member):
    grant_skill(
        membership=member, skill="C3", by=an_owner(member.showroom), signed_off_on=date(2026, 1, 1),
        at=AT,
    )  # fmt: skip


def page(client, path):
    answer = client.get(path)
    assert answer.status_code == 200, path
    return answer.content.decode()


def words_of(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))
