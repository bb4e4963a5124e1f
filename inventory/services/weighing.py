"""A container on a scale: what is in it, and what that says of the ledger.

A weighing never rewrites. It posts a movement for the difference to what the ledger held at that
moment: a count for stock that is ticked, the measured use for gas, which has no tick.
"""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.values.quantity import Mass, quantity
from inventory.models import Container, CylinderDetail, ItemKind, MovementKind, Scale, Weighing
from inventory.queries.levels import balance_base
from inventory.services import ledger
from inventory.services.said import (
    Said,
    columns_of_taking_back,
    fact_columns,
    moment_of,
    same_house,
)
from inventory.services.wanting import measured

BELOW_EMPTY = Mass.g(20)
ABOVE_FULL = Mass.g(50)
"""How far a scale and a stamped tare may be off before a weighing is refused (common practice, no
source)."""


@transaction.atomic
def record_weighing(
    *,
    container: Container,
    gross: Mass,
    scale: Scale,
    by: Membership,
    at: datetime,
    regulator_on: bool = False,
    **said: Unpack[Said],
) -> Weighing:
    """Write down a weighing and post the difference to the ledger at that moment.

    Parameters
    ----------
    gross : what the scale showed, container and content (and regulator, if it was on)
    regulator_on : the regulator stayed on the cylinder; its mass is taken off

    Raises
    ------
    Refused
        ``below_empty``, ``above_full``, ``above_scale``, ``no_tare``, ``no_regulator_mass``,
        ``not_weighed`` with words.
    Unknown
        a scale of another showroom.
    """
    require(by, "weigh", in_=container.showroom)
    same_house(container.showroom, scale=scale)
    known = _known(container, said)
    if known is not None:
        return known
    if container.voided_at is not None:
        raise Unknown("container")
    container = ledger.lock([container])[container.pk]
    tare, regulator = _empty(container, regulator_on)
    _fits(container, gross, scale, tare + regulator)
    net_base = net_of(container, gross - tare - regulator)
    expected_base = balance_base(container, moment_of(at, said))
    weighing: Weighing = Weighing.objects.create(
        **fact_columns(container.showroom, by, at, said),
        container=container,
        scale=scale,
        gross_mg=gross.mg,
        tare_mg=tare.mg,
        regulator_mg=regulator.mg,
        density_mg_per_ml=container.item.density_mg_per_ml,
        net_base=net_base,
        expected_base=expected_base,
    )
    if net_base != expected_base:
        is_gas = container.item.kind == ItemKind.GAS
        ledger.post(
            item=container.item,
            kind=MovementKind.MEASURED_USE if is_gas else MovementKind.COUNT,
            amount=quantity(container.item.dimension, net_base - expected_base),
            container=container,
            weighing=weighing,
            by=by,
            at=at,
            said=said,
        )
    measured(container.showroom, at, container.item, container)
    return weighing


@transaction.atomic
def take_back_weighing(
    *, weighing: Weighing, by: Membership, at: datetime, **said: Unpack[Said]
) -> Weighing:
    """It was a slip: a further row says so, and what it posted is reversed. Both stay."""
    require(by, "weigh", in_=weighing.showroom)
    known = Weighing.objects.filter(corrects=weighing).first()
    if known is not None:
        return known
    if weighing.takes_back:
        raise Refused("undo_of_undo", "This entry only takes back another: weigh again instead.")
    ledger.lock([weighing.container])
    back: Weighing = Weighing.objects.create(
        **columns_of_taking_back(weighing, by, at, said),
        container=weighing.container,
        scale=weighing.scale,
        gross_mg=weighing.gross_mg,
        tare_mg=weighing.tare_mg,
        regulator_mg=weighing.regulator_mg,
        density_mg_per_ml=weighing.density_mg_per_ml,
        net_base=weighing.net_base,
        expected_base=weighing.expected_base,
    )
    for movement in weighing.movements.filter(corrects=None).order_by("pk"):
        ledger.reverse(
            movement=movement, weighing=back, by=by, at=at, said=said, reason="taken back"
        )
    measured(weighing.showroom, at, weighing.container.item, weighing.container)
    return back


def net_of(container: Container, net: Mass) -> int:
    """The content of so much mass in the item's base units; a scale's noise below 0 is nothing.

    A volume is the mass by the item's density, to the nearest microlitre.
    """
    mass = max(net.mg, 0)
    if container.item.dimension == "mass":
        return mass
    return round(Fraction(mass * 1_000, container.item.density_mg_per_ml))


def mass_of(container: Container, base: int) -> Mass:
    """The mass of so much content, to the nearest milligram."""
    if container.item.dimension == "mass":
        return Mass(base)
    return Mass(round(Fraction(base * container.item.density_mg_per_ml, 1_000)))


def _empty(container: Container, regulator_on: bool) -> tuple[Mass, Mass]:
    if container.item.dimension == "piece":
        raise Refused(
            "not_weighed",
            f"{container.item.name} is counted in pieces.",
            remedy="Count it instead.",
        )
    if container.tare_mg is None:
        raise Refused(
            "no_tare",
            f"Nobody wrote down what {container} weighs when it is empty.",
            {"tare": "Needed to weigh it."},
            "Weigh an empty one of the same kind, or read the stamp, and enter that first.",
        )
    if not regulator_on:
        return Mass(container.tare_mg), Mass(0)
    detail = CylinderDetail.objects.filter(container=container).first()
    if detail is None:
        raise Refused(
            "no_regulator_mass",
            f"{container} is no cylinder.",
            {"regulator_on": "Only a cylinder has a regulator."},
            "Take the tick away.",
        )
    if detail.regulator_mg is None:
        raise Refused(
            "no_regulator_mass",
            f"Nobody wrote down what the regulator of {container} weighs.",
            {"regulator_on": "Its mass is not known."},
            "Take it off as you were trained and weigh without it, or enter its mass first.",
        )
    return Mass(container.tare_mg), Mass(detail.regulator_mg)


def _fits(container: Container, gross: Mass, scale: Scale, empty: Mass) -> None:
    if scale.max_mg is not None and gross.mg > scale.max_mg:
        raise Refused(
            "above_scale",
            f"Gross: {gross.text()} is more than {scale} can weigh.",
            {"gross": f"Allowed: up to {Mass(scale.max_mg).text()}."},
            "Check the number, or choose the scale that was used.",
        )
    if gross < empty - BELOW_EMPTY:
        raise Refused(
            "below_empty",
            f"Gross: {gross.text()} is less than {container} weighs empty ({empty.text()}).",
            {"gross": f"Allowed: {(empty - BELOW_EMPTY).text()} or more."},
            "Weigh again: is it this container, is the tare right, was the regulator on?",
        )
    full = empty + mass_of(container, container.capacity_base)
    if gross > full + ABOVE_FULL:
        raise Refused(
            "above_full",
            f"Gross: {gross.text()} is more than {container} weighs full ({full.text()}).",
            {"gross": f"Allowed: up to {(full + ABOVE_FULL).text()}."},
            _above_full_remedy(container),
        )


def _above_full_remedy(container: Container) -> str:
    if container.item.kind == ItemKind.GAS:
        return (
            "Weigh again. If it is true, the cylinder is overfilled: do not use or warm it, set it "
            "apart in an aired place away from people, and ring the supplier."
        )
    return "Weigh again: is it this container, and is the tare right?"


def _known(container: Container, said: Said) -> Weighing | None:
    if said.get("action_id") is None:
        return None
    known: Weighing | None = (
        Weighing.objects.of(container.showroom).filter(action_id=said["action_id"]).first()
    )
    return known
