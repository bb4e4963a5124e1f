"""A cylinder's gauge was read. Kept, and never a level: see ``tanks.science.gas``."""

from __future__ import annotations

from datetime import datetime
from typing import Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from inventory.models import Container, ItemKind, PressureReading
from inventory.services.said import Said, columns_of_taking_back, fact_columns

MOST_KPA = 25_000
COLDEST_MDEGC, WARMEST_MDEGC = -10_000, 50_000


@transaction.atomic
def record_pressure(
    *,
    container: Container,
    pressure_kpa: int,
    by: Membership,
    at: datetime,
    temperature_mdegc: int | None = None,
    **said: Unpack[Said],
) -> PressureReading:
    """Write down what the gauge of a cylinder showed; it changes no level.

    Parameters
    ----------
    pressure_kpa : above the air's, as the gauge shows it, 0 to 25,000 [kPa]
    temperature_mdegc : of the cylinder, as far as it is known, -10 to 50 °C [m°C]

    Raises
    ------
    Refused
        ``no_gauge`` for what is no cylinder; ``out_of_range``.
    """
    require(by, "weigh", in_=container.showroom)
    known = _known(container, said)
    if known is not None:
        return known
    if container.item.kind != ItemKind.GAS:
        raise Refused(
            "no_gauge",
            f"Pressure: {container} is no cylinder.",
            {"pressure": "Only a cylinder has a gauge."},
            "Weigh it instead.",
        )
    if not 0 <= pressure_kpa <= MOST_KPA:
        raise Refused(
            "out_of_range",
            f"Pressure: {_tenths(pressure_kpa, 100)} bar is not allowed.",
            {"pressure": "Allowed: 0 to 250 bar."},
            "Read the gauge of the cylinder, not that of the working side.",
        )
    if temperature_mdegc is not None and not (COLDEST_MDEGC <= temperature_mdegc <= WARMEST_MDEGC):
        raise Refused(
            "out_of_range",
            f"Temperature: {_tenths(temperature_mdegc, 1_000)} °C is not allowed.",
            {"temperature": "Allowed: -10 to 50 °C."},
            "Write the temperature of the room, or leave it empty.",
        )
    row: PressureReading = PressureReading.objects.create(
        **fact_columns(container.showroom, by, at, said),
        container=container,
        pressure_kpa=pressure_kpa,
        temperature_mdegc=temperature_mdegc,
    )
    return row


@transaction.atomic
def take_back_pressure(
    *, pressure: PressureReading, by: Membership, at: datetime, **said: Unpack[Said]
) -> PressureReading:
    """It was a slip: a further row says so. Both stay."""
    require(by, "weigh", in_=pressure.showroom)
    known: PressureReading | None = PressureReading.objects.filter(corrects=pressure).first()
    if known is not None:
        return known
    back: PressureReading = PressureReading.objects.create(
        **columns_of_taking_back(pressure, by, at, said),
        container=pressure.container,
        pressure_kpa=pressure.pressure_kpa,
        temperature_mdegc=pressure.temperature_mdegc,
    )
    return back


def _tenths(value: int, per: int) -> str:
    whole, rest = divmod(abs(value), per)
    tenth = rest * 10 // per
    sign = "-" if value < 0 else ""
    return f"{sign}{whole}.{tenth}" if tenth else f"{sign}{whole}"


def _known(container: Container, said: Said) -> PressureReading | None:
    if said.get("action_id") is None:
        return None
    known: PressureReading | None = (
        PressureReading.objects.of(container.showroom).filter(action_id=said["action_id"]).first()
    )
    return known
