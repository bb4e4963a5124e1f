"""Pumps, feeders, gauges and bottles: what a page of each shows before and after."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.quantity import Volume
from inventory.forecast.press import CUP_ABOVE_UL, given_by, is_off, press_sd_ul, presses_for
from inventory.models import (
    Container,
    EyeCount,
    FeederCalibration,
    Item,
    PressCalibration,
    PressureReading,
    Scale,
)
from inventory.queries.plans import planned_base, planned_for_day
from inventory.queries.supply import PRESS_UL, feeders, press_of
from inventory.services.eye_counts import fresh_weighing
from inventory.services.said import local_day
from tanks.models import Tank, TankCode
from tanks.science.gas import LIQUID_AND_GAS, saturation_bar

SHOWN = 6


@dataclass(frozen=True, slots=True)
class Changes:
    """What a measured press means for one tank."""

    code: str
    planned: Volume
    presses: int
    """As the instruction has them now."""
    gives: Volume
    presses_wanted: int
    gives_then: Volume

    @property
    def is_other(self) -> bool:
        """Would another number of presses come nearer to the plan?"""
        return self.presses != self.presses_wanted


@dataclass(frozen=True, slots=True)
class PressPage:
    """One pump: what a press gives, how it is known, and what that changes."""

    container: Container
    last: PressCalibration | None
    earlier: list[PressCalibration]
    press: Volume
    nominal: Volume
    is_off: bool
    sd_ul: int | None
    changes: list[Changes]
    more: int
    """Tanks beyond those shown."""


def press_page(
    showroom: Showroom, container: Container, at: datetime, scale: Scale | None
) -> PressPage:
    """The pump of a container at a moment; ``scale`` weighed its presses."""
    rows = list(
        PressCalibration.objects.standing()
        .filter(container=container, done_at_corrected__lte=at)
        .select_related("person")
        .order_by("-done_at_corrected", "-pk")[:5]
    )
    last = rows[0] if rows else None
    press = press_of(container, at)
    nominal = container.press_nominal_ul or PRESS_UL
    sd = None
    if last is not None and scale is not None:
        sd = round(
            press_sd_ul(
                last.presses, last.density_mg_per_ml, scale.noise_sd_mg, scale.resolution_mg
            )
        )
    changes = _changes(showroom, container, at, press.ul, nominal)
    return PressPage(
        container=container,
        last=last,
        earlier=rows[1:],
        press=Volume(press.ul),
        nominal=Volume(nominal),
        is_off=is_off(press.ul, nominal),
        sd_ul=sd,
        changes=changes[:SHOWN],
        more=max(0, len(changes) - SHOWN),
    )


def _changes(
    showroom: Showroom, container: Container, at: datetime, press_ul: int, nominal_ul: int
) -> list[Changes]:
    """By tank, in the order of their codes; a dose for the measuring cup is not pressed."""
    fed = {
        feeder.tank_id
        for feeder in feeders(showroom, at).values()
        if feeder.container_id == container.pk and feeder.purpose == "dose"
    }
    day = local_day(showroom, at)
    planned = planned_for_day(showroom, day, tank_ids=fed, purpose="dose") if fed else {}
    codes = dict(
        TankCode.objects.of(showroom)
        .filter(tank_id__in=fed, voided_at=None)
        .at(at)
        .values_list("tank_id", "code")
    )
    found = []
    for row in planned.values():
        wanted = row.amount_base
        if row.item_id != container.item_id or not 0 < wanted <= CUP_ABOVE_UL:
            continue
        told, nearest = presses_for(wanted, nominal_ul), presses_for(wanted, press_ul)
        found.append(
            Changes(
                code=codes.get(row.tank_id, ""),
                planned=Volume(wanted),
                presses=told,
                gives=Volume(given_by(told, press_ul)),
                presses_wanted=nearest,
                gives_then=Volume(given_by(nearest, press_ul)),
            )
        )
    return sorted(found, key=lambda one: one.code)


def eye_page(container: Container, at: datetime) -> tuple[EyeCount | None, datetime | None]:
    """The last look, and when the weighing was that an eye would not override now."""
    last = (
        EyeCount.objects.standing()
        .filter(container=container)
        .select_related("person")
        .order_by("-done_at_corrected", "-pk")
        .first()
    )
    fresh = fresh_weighing(container, at)
    return last, fresh.done_at_corrected if fresh is not None else None


def gauge_page(container: Container) -> list[PressureReading]:
    """The last readings of its gauge, newest first."""
    return list(
        PressureReading.objects.standing()
        .filter(container=container)
        .select_related("person")
        .order_by("-done_at_corrected", "-pk")[:5]
    )


def gauge_with_liquid_bar(degc: float) -> float | None:
    """What a gauge shows at that temperature while liquid is left, above the air's pressure [bar].

    None where there is no liquid: above 30.9 °C.
    """
    return saturation_bar(degc) - 1.013 if LIQUID_AND_GAS.holds(degc) else None


def foods_of(showroom: Showroom, tank: Tank, at: datetime) -> list[Item]:
    """What a feeder of this tank may hold: its planned foods first, then all others by mass."""
    planned = planned_base(showroom, tank, local_day(showroom, at))
    mine = {row.item_id for row in planned.values() if row.purpose == "food"}
    rows = Item.objects.of(showroom).filter(
        kind="food", dimension="mass", voided_at=None, retired_at=None
    )
    return sorted(rows, key=lambda item: (item.pk not in mine, item.name))


def portions_of(tank: Tank) -> list[FeederCalibration]:
    """The last calibrations of its feeder, newest first."""
    return list(
        FeederCalibration.objects.standing()
        .filter(tank=tank)
        .select_related("person", "item")
        .order_by("-done_at_corrected", "-pk")[:5]
    )


def same_item(container: Container) -> list[Container]:
    """Other containers in use of the same item: what may be poured into it or out of it."""
    return list(
        Container.objects.of(container.showroom)
        .filter(item=container.item, voided_at=None, finished_on=None)
        .exclude(pk=container.pk)
        .select_related("lot")
        .order_by("kind", "name", "pk")[:60]
    )
