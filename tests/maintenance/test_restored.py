"""A backup is put back: tablets offer again, the books are what they were, and gaps are named."""

from __future__ import annotations

import random
from datetime import timedelta
from typing import Any

import pytest
from django.apps import apps
from django.db import transaction

from gallery_ops.kernel.models import Device, Epoch
from gallery_ops.kernel.queries.alerts import open_alerts
from gallery_ops.kernel.services.people import renew_epoch
from inventory.models import Movement, Use
from maintenance.actions.apply import Sender, apply_batch
from maintenance.models import Action, Completion, Observation
from maintenance.queries.restored import TabletAfter, restored, tablets_after
from maintenance.services.restored_alerts import review
from tests.builders import people
from tests.built_once import built_once
from tests.maintenance.actions.entering import a_dose, a_note, taken_back
from tests.maintenance.actions.lossy import Basement, Tablet, a_tablet
from tests.maintenance.actions.saying import AT, Morning, a_morning

pytestmark = pytest.mark.django_db
BACK_AT = AT + timedelta(hours=6)
built, morning = built_once(a_morning)
ROOMS = ("tanks", "inventory", "maintenance")
APART = {"id", "entered_at", "at"}
"""Columns that say when and under which key a row came, not what is so."""


def facts() -> dict[str, list[tuple[str, ...]]]:
    """Every row of the rooms without its key and the moment of its coming; keys of other rows by
    what those rows say."""
    found: dict[str, list[tuple[str, ...]]] = {}
    for model in apps.get_models():
        if model._meta.app_label not in ROOMS:
            continue
        plain = [
            f.attname
            for f in model._meta.concrete_fields
            if f.attname not in APART and not f.is_relation and f.attname != "uid"
        ]
        named = [f.name for f in model._meta.concrete_fields if f.is_relation]
        rows = model._base_manager.select_related(*named) if named else model._base_manager.all()
        found[model._meta.label] = sorted(
            tuple(
                [f"{name}={getattr(row, name)!r}" for name in plain]
                + [f"{name}={getattr(row, name)!s}" for name in named]
            )
            for row in rows
        )
    return found


def send(tablet: Tablet, morning: Morning, *, epoch: Epoch | None = None, at: Any = AT) -> None:
    """What waits, oldest first; with the epoch then also that nothing waits."""
    sender = Sender(showroom=morning.house.showroom, device=tablet.device)
    token = epoch.token if epoch else None
    while actions := tablet.waiting(7):
        answers, _up_to = apply_batch(
            sender=sender, actions=actions, sent_at=at, at=at, epoch=token
        )
        for answer in answers:
            tablet.hear(answer.action_id, answer.verdict)
    if epoch:
        apply_batch(sender=sender, actions=[], sent_at=at, at=at, epoch=token)


def stops_of(morning: Morning) -> dict[str, dict[str, str]]:
    return {tank: morning.at_stop("dose", tank) for tank in ("T01", "T02")}


def a_round(basement: Basement, tablets: list[Tablet]) -> None:
    for n in range(24):
        tablet = tablets[n % len(tablets)]
        if n % 6 == 5:
            taken_back(basement, tablet, "", n)
        elif n % 3:
            a_dose(basement, tablet, f"T0{1 + n % 2}", 1 + n % 4)
        else:
            a_note(basement, tablet, f"T0{1 + n % 2}", n)


def test_after_a_restore_and_offering_again_the_books_are_what_they_were(morning: Morning) -> None:
    basement = Basement(morning, random.Random(4), stops_of(morning))
    tablets = [a_tablet(people.a_device(morning.house.owner, f"tablet {n}")) for n in range(2)]
    backup = transaction.savepoint()
    a_round(basement, tablets)
    for tablet in tablets:
        send(tablet, morning)
    original, levels = facts(), morning.level()
    counts = [model.objects.count() for model in (Action, Movement, Use, Completion, Observation)]
    assert min(counts) > 0
    transaction.savepoint_rollback(backup)
    assert not Action.objects.exists()
    assert facts() != original

    epoch = renew_epoch(at=BACK_AT)
    for tablet in reversed(tablets):  # in another order than on the day
        tablet.verdicts.clear()
        send(tablet, morning, epoch=epoch, at=BACK_AT)
    assert morning.level() == levels
    # `late` of what came in six hours after its deed is no part of what was done
    assert facts() == original

    for tablet in tablets:
        tablet.verdicts.clear()
        send(tablet, morning, epoch=epoch, at=BACK_AT)
        assert {v for said in tablet.verdicts.values() for v in said} == {"duplicate"}
    assert facts() == original
    after = tablets_after(morning.house.showroom, restored_now(morning))
    assert {one.name: one.state for one in after} == {
        "tablet 0": "whole", "tablet 1": "whole", morning.tablet.name: "not_heard",
    }  # fmt: skip


def restored_now(morning: Morning, hours: int = 1) -> Any:
    found = restored(morning.house.showroom, BACK_AT + timedelta(hours=hours))
    assert found is not None
    return found


def test_without_a_restore_there_is_no_report_and_after_a_fortnight_none_either(
    morning: Morning,
) -> None:
    assert restored(morning.house.showroom, BACK_AT) is None
    renew_epoch(at=BACK_AT)
    assert restored(morning.house.showroom, BACK_AT) is not None
    assert restored(morning.house.showroom, BACK_AT + timedelta(days=14)) is None


def test_the_report_names_who_was_not_heard_who_sends_and_what_is_missing(
    morning: Morning,
) -> None:
    basement, showroom = (
        Basement(morning, random.Random(1), stops_of(morning)),
        morning.house.showroom,
    )
    tablet = a_tablet(people.a_device(morning.house.owner, "tablet of zone B"))
    epoch = renew_epoch(at=BACK_AT)

    def state() -> TabletAfter:
        return next(
            one
            for one in tablets_after(showroom, restored_now(morning))
            if one.name == "tablet of zone B"
        )

    assert state().state == "not_heard"
    for n in range(9):
        a_note(basement, tablet, "T01", n)
    lost = [entry for entry in tablet.entries.values() if entry["seq"] in {2, 4, 5}]
    for entry in lost:
        del tablet.entries[entry["action_id"]]
    sender = Sender(showroom=showroom, device=tablet.device)
    apply_batch(
        sender=sender, actions=tablet.waiting(2), sent_at=BACK_AT, at=BACK_AT, epoch=epoch.token
    )
    assert state().state == "sending"
    review(showroom, BACK_AT + timedelta(hours=1))
    (alert,) = open_alerts(showroom, kind="restored")
    assert "2 tablets" in alert.sentence
    send(tablet, morning, epoch=epoch, at=BACK_AT)
    assert (state().state, state().ranges, state().back_again) == ("gaps", "2, 4 to 5", 6)
    for entry in lost:
        tablet.entries[entry["action_id"]] = entry
    send(tablet, morning, epoch=epoch, at=BACK_AT)
    assert state().is_whole
    Device.objects.filter(pk=morning.tablet.pk).update(revoked_at=BACK_AT)
    review(showroom, BACK_AT + timedelta(hours=2))
    assert not open_alerts(showroom, kind="restored")


def test_saying_that_nothing_waits_to_another_database_says_nothing(morning: Morning) -> None:
    tablet = a_tablet(people.a_device(morning.house.owner, "tablet of zone B"))
    renew_epoch(at=BACK_AT)
    sender = Sender(showroom=morning.house.showroom, device=tablet.device)
    apply_batch(sender=sender, actions=[], sent_at=BACK_AT, at=BACK_AT, epoch=None)
    after = tablets_after(morning.house.showroom, restored_now(morning))
    assert {one.state for one in after} == {"not_heard", "sending"}
