"""What does one press of this pump really give? Presses weighed, valid from then on."""

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
from inventory.models import Container, PressCalibration
from inventory.services.said import Said, columns_of_taking_back, fact_columns
from inventory.services.wanting import measured

PRESSES = Limit(5, 200)
UL_PER_PRESS = Limit(50, 20_000, "µL")


def ul_per_press(presses: int, mass: Mass, density_mg_per_ml: int) -> int:
    """What one press gives, to the nearest microlitre [µL].

    >>> ul_per_press(20, Mass.g("19.4"), 1050)
    924
    """
    return round(Fraction(mass.mg * 1_000, density_mg_per_ml * presses))


@transaction.atomic
def record_press_calibration(
    *,
    container: Container,
    presses: int,
    mass: Mass,
    by: Membership,
    at: datetime,
    **said: Unpack[Said],
) -> PressCalibration:
    """Write down what so many presses weighed; it holds for uses from that moment on, never before.

    Parameters
    ----------
    presses : 5 to 200, without the first ones after a refill, which give air
    mass : what they weighed together

    Raises
    ------
    Refused
        presses or the result outside what can be; an item that is no volume.
    """
    require(by, "weigh", in_=container.showroom)
    action_id = said.get("action_id")
    if action_id is not None:
        known: PressCalibration | None = PressCalibration.objects.filter(
            showroom=container.showroom, action_id=action_id, container=container
        ).first()
        if known is not None:
            return known
    item = container.item
    if item.dimension != "volume":
        raise Refused("not_pressed", f"{item.name} does not come out of a pump.")
    try:
        PRESSES.check("Presses", presses, "20 is usual.")
        found = ul_per_press(presses, mass, item.density_mg_per_ml)
    except OutOfRange as trouble:
        raise Refused.from_range(trouble, field="presses") from trouble
    try:
        UL_PER_PRESS.check("One press", found, "Weigh the presses again.")
    except OutOfRange as trouble:
        raise Refused.from_range(trouble, field="mass") from trouble
    row: PressCalibration = PressCalibration.objects.create(
        **fact_columns(container.showroom, by, at, said),
        container=container,
        presses=presses,
        mass_mg=mass.mg,
        density_mg_per_ml=item.density_mg_per_ml,
        ul_per_press=found,
    )
    measured(container.showroom, at, item, container)
    return row


@transaction.atomic
def take_back_calibration(
    *, calibration: PressCalibration, by: Membership, at: datetime, **said: Unpack[Said]
) -> PressCalibration:
    """It was a slip: the one before holds again for uses from now on. Uses made with it stay."""
    require(by, "weigh", in_=calibration.showroom)
    known: PressCalibration | None = PressCalibration.objects.filter(corrects=calibration).first()
    if known is not None:
        return known
    row: PressCalibration = PressCalibration.objects.create(
        **columns_of_taking_back(calibration, by, at, said),
        container=calibration.container,
        presses=calibration.presses,
        mass_mg=calibration.mass_mg,
        density_mg_per_ml=calibration.density_mg_per_ml,
        ul_per_press=calibration.ul_per_press,
    )
    measured(calibration.showroom, at, calibration.container.item, calibration.container)
    return row
