"""A container on a scale: what is in it, and what that says of the ledger.

A weighing never rewrites. It posts a movement for the difference to what the ledger held at that
moment: a count for stock that is ticked, the measured use for gas, which has no tick.
"""

from __future__ import annotations

from datetime import datetime
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.values.quantity import Mass, quantity
from inventory.models import Container, ItemKind, MovementKind, Scale, Weighing
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
from inventory.services.weighing_rules import check_gross, empty_of, mass_of, net_of

__all__ = ["mass_of", "net_of", "record_weighing", "take_back_weighing"]


@transaction.atomic
def record_weighing(
    *,
    container: Container,
    gross: Mass,
    scale: Scale,
    by: Membership,
    at: datetime,
    regulator_on: bool = False,
    asked_again: bool = False,
    **said: Unpack[Said],
) -> Weighing:
    """Write down a weighing and post the difference to the ledger at that moment.

    Parameters
    ----------
    gross : what the scale showed, container and content (and regulator, if it was on)
    regulator_on : the regulator stayed on the cylinder; its mass is taken off
    asked_again : the person was asked "is it so?" about a bottle above its mark and said yes

    Raises
    ------
    Refused
        ``below_empty``, ``above_full``, ``ask_full``, ``above_scale``, ``no_tare``,
        ``no_regulator_mass``, ``not_weighed`` with words.
    Held
        ``overfilled``: a cylinder above its fill waits for a person and is not counted.
    Unknown
        a scale of another showroom.
    """
    require(by, "weigh", in_=container.showroom)
    same_house(container.showroom, scale=scale)
    container = ledger.lock([container])[container.pk]  # the same said twice takes turns
    known = _known(container, said)
    if known is not None:
        return known
    if container.voided_at is not None:
        raise Unknown("container")
    tare, regulator = empty_of(container, regulator_on)
    check_gross(container, gross, scale, tare, regulator, asked_again=asked_again)
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
    ledger.lock([weighing.container])
    known = Weighing.objects.filter(corrects=weighing).first()
    if known is not None:
        return known
    if weighing.takes_back:
        raise Refused("undo_of_undo", "This entry only takes back another: weigh again instead.")
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


def _known(container: Container, said: Said) -> Weighing | None:
    if said.get("action_id") is None:
        return None
    known: Weighing | None = (
        Weighing.objects.of(container.showroom).filter(action_id=said["action_id"]).first()
    )
    return known
