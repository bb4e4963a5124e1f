"""A cylinder of one's own goes away to be filled, and comes back with the same serial."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.quantity import Mass, quantity
from inventory.models import Container, CylinderDetail, MovementKind, Scale, Supply
from inventory.queries.levels import balance_base
from inventory.services import ledger
from inventory.services.cylinder_care import check_here
from inventory.services.cylinder_checks import (
    check_may_be_filled,
    check_test,
    check_two_people,
    detail_of,
    next_test_of,
    require_c3,
)
from inventory.services.cylinder_steps import TAKE_DOWN, check_ticks
from inventory.services.said import Said, local_day, moment_of
from inventory.services.supplies import end_supply
from inventory.services.wanting import measured
from inventory.services.weighing import net_of, record_weighing


@dataclass(frozen=True, slots=True)
class OnScale:
    """What a scale showed."""

    gross: Mass
    scale: Scale
    regulator_on: bool = False


@dataclass(frozen=True, slots=True)
class Stamp:
    """What is stamped on it when it comes back: it may have been tested meanwhile."""

    tested_on: date | None
    next_test_on: date | None
    test_rule: str
    text: str = ""


@transaction.atomic
def send_for_refill(
    *,
    container: Container,
    by: Membership,
    at: datetime,
    weighed: OnScale | None = None,
    second: Membership | None = None,
    steps: Mapping[str, datetime] | None = None,
    **said: Unpack[Said],
) -> CylinderDetail:
    """It is taken down, closed, and leaves to be filled; its tanks have no gas until then.

    Raises
    ------
    Refused
        ``is_exchanged``, ``test_ran_out``, ``next_test_unknown``, ``wrong_skill``,
        ``steps_left``, ``second_person``, ``away`` and as ``record_weighing``.
    """
    require(by, "record", in_=container.showroom)
    container = ledger.lock([container])[container.pk]
    detail = detail_of(container)
    check_here(container, detail)
    today = local_day(container.showroom, at)
    if detail.is_exchange:
        raise Refused(
            "is_exchanged",
            f"{detail.serial} is the supplier's and is exchanged, not refilled.",
            {"container": "One of your own."},
            "Put it right in its entry if it is yours.",
        )
    check_may_be_filled(detail.serial, detail.next_test_on, today)
    check_two_people(Mass(detail.fill_mg), by, second, detail.serial)
    fed = list(Supply.objects.filter(container=container).still())
    if fed:
        require_c3(by, today)
        check_ticks(steps or {}, TAKE_DOWN, at)
    if weighed is not None:
        _weigh(container, weighed, by, at)
    for supply in fed:
        end_supply(supply=supply, by=by, at=at, **said)
    detail.away_on = local_day(container.showroom, moment_of(at, said))
    detail.regulator_mg = None
    detail.save(update_fields=["away_on", "regulator_mg"])
    audit.record(
        by=by,
        at=at,
        deed="cylinder.sent",
        subject=container,
        after={
            "away": detail.away_on,
            "steps": {step: when.isoformat() for step, when in (steps or {}).items()},
        },
    )
    measured(container.showroom, at, container.item, container)
    return detail


@transaction.atomic
def back_from_refill(
    *,
    container: Container,
    weighed: OnScale,
    stamp: Stamp,
    by: Membership,
    at: datetime,
    second: Membership | None = None,
    **said: Unpack[Said],
) -> CylinderDetail:
    """It is back: weighed, its stamp read again, and what came in is a receipt.

    Raises
    ------
    Refused
        ``not_away``, ``not_filled``, ``test_ran_out``, ``second_person`` and as
        ``record_weighing``: one that weighs more than it may hold is set apart.
    """
    require(by, "record", in_=container.showroom)
    container = ledger.lock([container])[container.pk]
    detail = detail_of(container)
    if detail.away_on is None:
        raise Refused(
            "not_away",
            f"{detail.serial} is not away.",
            {"container": "One that was sent for a refill."},
        )
    today = local_day(container.showroom, at)
    check_two_people(Mass(detail.fill_mg), by, second, detail.serial)
    check_test(stamp.tested_on, stamp.next_test_on, stamp.test_rule, today)
    next_on = next_test_of(stamp.tested_on, stamp.next_test_on, stamp.test_rule)
    check_may_be_filled(detail.serial, next_on, today, deed="taken back into use")
    detail.away_on, detail.is_marked_empty = None, False
    detail.tested_on, detail.next_test_on = stamp.tested_on, next_on
    detail.test_rule, detail.stamp = stamp.test_rule, stamp.text.strip() or detail.stamp
    detail.save()
    _book(container, weighed, by, at, said)
    audit.record(
        by=by,
        at=at,
        deed="cylinder.back",
        subject=container,
        after={"gross": weighed.gross, "next_test": next_on},
    )
    measured(container.showroom, at, container.item, container)
    return detail


def _book(container: Container, weighed: OnScale, by: Membership, at: datetime, said: Said) -> None:
    """A receipt of what is in it now beyond what the books held, and the weighing beside it."""
    held = balance_base(container)
    net = net_of(container, weighed.gross - Mass(container.tare_mg or 0))
    came = net - held
    if came <= 0:
        gas = quantity(container.item.dimension, held).text()
        raise Refused(
            "not_filled",
            f"Gross: {weighed.gross.text()} is what it left with, {gas}: it was not filled.",
            {"gross": "More than when it left."},
            "Weigh again without the regulator. If it is true, ring the supplier.",
        )
    ledger.post(
        item=container.item,
        kind=MovementKind.RECEIPT,
        amount=quantity(container.item.dimension, came),
        container=container,
        by=by,
        at=at,
        said=said,
        reason="refilled",
    )
    _weigh(container, weighed, by, at)


def _weigh(container: Container, weighed: OnScale, by: Membership, at: datetime) -> None:
    record_weighing(
        container=container,
        gross=weighed.gross,
        scale=weighed.scale,
        regulator_on=weighed.regulator_on,
        by=by,
        at=at,
    )
