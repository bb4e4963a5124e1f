"""What does one portion of this feeder really give? Portions weighed, valid from then on."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.values.limits import Limit, OutOfRange
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import FeederCalibration, Item, ItemKind
from inventory.services.said import Said, columns_of_taking_back, fact_columns, same_house
from inventory.services.wanting import stock_changed
from tanks.models import Tank

PORTIONS = Limit(5, 200)
MG_PER_PORTION = Limit(1, 20_000, "mg")


def mg_per_portion(portions: int, mass: Mass) -> int:
    """What one portion weighs, to the nearest milligram [mg].

    >>> mg_per_portion(20, Mass.g("1.2"))
    60
    """
    return round(Fraction(mass.mg, portions))


@transaction.atomic
def record_feeder_calibration(
    *,
    tank: Tank,
    item: Item,
    portions: int,
    mass: Mass,
    by: Membership,
    at: datetime,
    **said: Unpack[Said],
) -> FeederCalibration:
    """Write down what so many portions of a tank's feeder weighed, for this food.

    Parameters
    ----------
    portions : 5 to 200; 20 are usual
    mass : what they weighed together

    Raises
    ------
    Refused
        ``not_fed`` for an item that is no food by mass; portions or result outside what can be.
    Unknown
        an item of another showroom.
    """
    require(by, "weigh", in_=tank.showroom)
    same_house(tank.showroom, item=item)
    known = _known(tank, said)
    if known is not None:
        return known
    if item.kind != ItemKind.FOOD or item.dimension != "mass":
        raise Refused(
            "not_fed",
            f"{item.name} does not come out of a feeder.",
            {"item": "A dry food."},
            "Choose the food that is in the feeder.",
        )
    try:
        PORTIONS.check("Portions", portions, "20 is usual.")
        found = mg_per_portion(portions, mass)
    except OutOfRange as trouble:
        raise Refused.from_range(trouble, field="portions") from trouble
    try:
        MG_PER_PORTION.check("One portion", found, "Weigh the portions again.")
    except OutOfRange as trouble:
        raise Refused.from_range(trouble, field="mass") from trouble
    row: FeederCalibration = FeederCalibration.objects.create(
        **fact_columns(tank.showroom, by, at, said),
        tank=tank,
        item=item,
        portions=portions,
        mass_mg=mass.mg,
        mg_per_portion=found,
    )
    stock_changed(tank.showroom, at, item)
    return row


@transaction.atomic
def take_back_feeder_calibration(
    *, feeder_calibration: FeederCalibration, by: Membership, at: datetime, **said: Unpack[Said]
) -> FeederCalibration:
    """It was a slip: the one before holds again from now on. Both stay."""
    require(by, "weigh", in_=feeder_calibration.showroom)
    known: FeederCalibration | None = FeederCalibration.objects.filter(
        corrects=feeder_calibration
    ).first()
    if known is not None:
        return known
    back: FeederCalibration = FeederCalibration.objects.create(
        **columns_of_taking_back(feeder_calibration, by, at, said),
        tank=feeder_calibration.tank,
        item=feeder_calibration.item,
        portions=feeder_calibration.portions,
        mass_mg=feeder_calibration.mass_mg,
        mg_per_portion=feeder_calibration.mg_per_portion,
    )
    stock_changed(feeder_calibration.showroom, at, feeder_calibration.item)
    return back


def _known(tank: Tank, said: Said) -> FeederCalibration | None:
    if said.get("action_id") is None:
        return None
    known: FeederCalibration | None = (
        FeederCalibration.objects.of(tank.showroom).filter(action_id=said["action_id"]).first()
    )
    return known
