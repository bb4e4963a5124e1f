"""The bottle ran empty under the pump: it is a measurement, and the next bottle gives the rest."""

from __future__ import annotations

from typing import Any

import pytest

from gallery_ops.kernel.models import Alert
from gallery_ops.kernel.values.quantity import Volume
from inventory.models import Container, Supply, Use
from maintenance.actions.apply import Answer
from maintenance.services import double_doses
from tests.builders import stock
from tests.built_once import built_once
from tests.maintenance.actions.saying import AT, LAST_MONTH, Morning, a_morning

pytestmark = pytest.mark.django_db


def with_a_next_bottle() -> Morning:
    morning = a_morning()
    stock.a_bottle(morning.house.fertiliser, capacity=Volume.ml(500), at=LAST_MONTH)
    return morning


built, morning = built_once(with_a_next_bottle)


def following(morning: Morning) -> Container:
    return Container.objects.filter(item=morning.house.fertiliser).exclude(
        pk=morning.bottle.pk
    ).get()  # fmt: skip


def short(morning: Morning, presses: int = 2, **body: Any) -> Answer:
    said = {"presses": presses, "per_press_ul": 1000, "short": "bottle_empty", **body}
    return morning.dose(presses * 1000, body={"empty": morning.bottle.code, **said})


def rest(morning: Morning, first: Answer, **body: Any) -> Answer:
    said = {
        "presses": 1,
        "per_press_ul": 1000,
        "rest_of": first.action_id,
        "bottle": following(morning).code,
        "replaces": morning.bottle.code,
        **body,
    }
    return morning.dose(1000, body=said)


def test_two_of_three_presses_empty_the_bottle_by_a_found_difference(morning: Morning) -> None:
    assert short(morning).verdict == "accepted"
    bottle = Container.objects.get(pk=morning.bottle.pk)
    assert bottle.finished_on is not None
    assert morning.level() == 0
    found = bottle.movements.get(kind="count")
    assert found.amount_base == -(500_000 - 2000), "the books were wrong by so much"
    assert Use.objects.get().given_base == 2000, "what was given is not rewritten"
    assert morning.task("dose").state == "open", "the plan's dose was given in part"


def test_the_rest_comes_from_the_next_bottle_without_a_question(morning: Morning) -> None:
    first = short(morning)
    assert rest(morning, first).verdict == "accepted"
    assert morning.task("dose").state == "done"
    assert morning.level(following(morning)) == 499_000
    assert Supply.objects.still().get(item=morning.house.fertiliser).container == following(morning)
    double_doses.review(morning.house.showroom, AT)
    assert not Alert.objects.filter(kind="double_dose", closed_at=None).exists()
    assert sum(use.given_base for use in Use.objects.standing()) == 3000


def test_more_than_the_rest_is_a_second_dose_like_any_other(morning: Morning) -> None:
    first = short(morning)
    body = {**morning.dose_body(3000), "rest_of": first.action_id}
    body |= {"bottle": following(morning).code, "replaces": morning.bottle.code}
    assert morning.say("dose", body, **morning.at_stop("dose")).verdict == "accepted"
    double_doses.review(morning.house.showroom, AT)
    assert Alert.objects.filter(kind="double_dose", closed_at=None).count() == 1


def test_undone_the_bottle_is_in_use_again(morning: Morning) -> None:
    first = short(morning)
    assert morning.undo(first).verdict == "accepted"
    assert Container.objects.get(pk=morning.bottle.pk).finished_on is None
    assert morning.level() == 500_000
    assert Supply.objects.still().get(item=morning.house.fertiliser).container == morning.bottle
    assert morning.dose().verdict == "accepted"
    assert morning.level() == 497_000


def test_a_bottle_that_was_exchanged_meanwhile_waits_for_a_person(morning: Morning) -> None:
    stock.feeds(following(morning), purpose="dose", zone="A", at=LAST_MONTH.replace(day=20))
    held = short(morning)
    assert (held.verdict, held.reason) == ("held", "bottle_exchanged")
    assert Container.objects.get(pk=morning.bottle.pk).finished_on is None
    assert morning.level() == 500_000


def test_another_put_a_third_bottle_there_first(morning: Morning) -> None:
    first = short(morning)
    third = stock.a_bottle(morning.house.fertiliser, capacity=Volume.ml(500), at=LAST_MONTH)
    stock.feeds(third, purpose="dose", zone="A", at=AT)
    said = {"bottle": next_code(morning, third), "replaces": morning.bottle.code}
    held = morning.dose(1000, body={**said, "rest_of": first.action_id})
    assert (held.verdict, held.reason) == ("held", "bottle_exchanged")
    assert "meanwhile" in (held.words or "")


def next_code(morning: Morning, third: Container) -> str:
    used = {morning.bottle.pk, third.pk}
    rows = Container.objects.filter(item=morning.house.fertiliser).exclude(pk__in=used)
    return str(rows.get().code)


def test_fewer_presses_because_that_is_all_it_gets_finish_no_bottle(morning: Morning) -> None:
    assert (
        short(morning, short="less", less="The manager said so", empty=None).verdict == "accepted"
    )
    assert Container.objects.get(pk=morning.bottle.pk).finished_on is None
    assert morning.level() == 498_000
    assert morning.task("dose").state == "done"
    assert Use.objects.get().answers["less"] == "The manager said so"
