"""Which container feeds which tank, and what does one press of its pump give?

A tank's own supply comes before that of the zone where it stood at the moment that is asked about.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import OuterRef, Q, QuerySet, Subquery

from gallery_ops.kernel.models import Showroom
from inventory.models import Container, Item, PressCalibration, Supply
from tanks.models import Placement, Tank, TankCode

PRESS_UL = 1_000
"""What a press is taken to give when nobody wrote down or measured anything [µL].

Common practice, no source.
"""


@dataclass(frozen=True, slots=True)
class Press:
    """What one press gives, and how that is known."""

    ul: int
    is_measured: bool
    measured_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Feeder:
    """The container that feeds a tank with an item for a purpose."""

    tank_id: int
    item_id: int
    purpose: str
    container_id: int
    container_code: str
    container_name: str
    by_zone: bool
    press: Press
    press_nominal_ul: int
    share_permille: int | None


FeederKey = tuple[int, str, int]
"""Tank id, purpose, item id."""


def feeding_container(
    showroom: Showroom, tank: Tank, item: Item, purpose: str, moment: datetime
) -> Container | None:
    """The container that fed this tank at that moment; None when none is connected."""
    key = feeding_container_id(showroom, tank, item, purpose, moment)
    found: Container | None = Container.objects.filter(pk=key).first() if key else None
    return found


def feeding_container_id(
    showroom: Showroom, tank: Tank, item: Item, purpose: str, moment: datetime
) -> int | None:
    """Key of the container that fed this tank at that moment; two short queries."""
    rows = list(
        Supply.objects.at(moment)
        .filter(Q(tank=tank) | Q(zone__isnull=False), showroom=showroom, item=item, purpose=purpose)
        .order_by("-from_at", "-pk")
        .values_list("tank_id", "zone_id", "container_id")
    )
    own = next((container for tank_id, _zone, container in rows if tank_id == tank.pk), None)
    if own is not None or not rows:
        return own
    here = (
        Placement.objects.at(moment)
        .filter(showroom=showroom, tank=tank, voided_at=None)
        .values_list("position__zone_id", flat=True)
        .first()
    )
    by_zone = (container for tank_id, zone, container in rows if tank_id is None and zone == here)
    return next(by_zone, None)


def feeders(
    showroom: Showroom, moment: datetime, tank_ids: Iterable[int] | None = None
) -> dict[FeederKey, Feeder]:
    """What feeds every tank (or these) at a moment, in three queries however many there are."""
    places = Placement.objects.of(showroom).at(moment).filter(voided_at=None)
    if tank_ids is not None:
        wanted = list(tank_ids)
        places = places.filter(tank_id__in=wanted)
    zone_of = dict(places.values_list("tank_id", "position__zone_id"))
    rows = list(
        Supply.objects.of(showroom).at(moment).select_related("container").order_by("from_at", "pk")
    )
    presses = presses_of([row.container for row in rows], moment)
    found: dict[FeederKey, Feeder] = {}
    for row in (row for row in rows if row.zone_id is not None):
        for tank_id, zone_id in zone_of.items():
            if zone_id == row.zone_id:
                one = _feeder(row, tank_id, presses)
                found[(one.tank_id, one.purpose, one.item_id)] = one
    for row in (row for row in rows if row.tank_id is not None):
        if tank_ids is None or row.tank_id in wanted:
            one = _feeder(row, row.tank_id, presses)
            found[(one.tank_id, one.purpose, one.item_id)] = one
    return found


def press_of(container: Container, moment: datetime) -> Press:
    """What one press of this container's pump gave at that moment."""
    last = (
        PressCalibration.objects.standing()
        .filter(container=container, done_at_corrected__lte=moment)
        .order_by("-done_at_corrected", "-pk")
        .values_list("ul_per_press", "done_at_corrected")
        .first()
    )
    if last is None:
        return Press(container.press_nominal_ul or PRESS_UL, False)
    return Press(last[0], True, last[1])


@dataclass(frozen=True, slots=True)
class PressesByTime:
    """Every calibration that stands of some pumps, so that many moments cost one query."""

    measured: dict[int, list[tuple[datetime, int]]]

    def of(self, container: Container, moment: datetime) -> Press:
        """As :func:`press_of`, for a container that was asked for."""
        rows = self.measured.get(container.pk, [])
        last = next((row for row in reversed(rows) if row[0] <= moment), None)
        if last is None:
            return Press(container.press_nominal_ul or PRESS_UL, False)
        return Press(last[1], True, last[0])


def presses_by_time(containers: Collection[Container]) -> PressesByTime:
    """What one press of these pumps gave at any moment, in one query; none for no container."""
    measured: dict[int, list[tuple[datetime, int]]] = {}
    if containers:
        rows = (
            PressCalibration.objects.standing()
            .filter(container__in=[container.pk for container in containers])
            .order_by("done_at_corrected", "pk")
            .values_list("container_id", "done_at_corrected", "ul_per_press")
        )
        for container_id, moment, ul in rows:
            measured.setdefault(container_id, []).append((moment, ul))
    return PressesByTime(measured)


def presses_of(containers: Iterable[Container], moment: datetime) -> dict[int, Press]:
    """The same for several, in one query: the last calibration, else the stated amount."""
    rows = {container.pk: container for container in containers}
    latest = (
        PressCalibration.objects.standing()
        .filter(container=OuterRef("container"), done_at_corrected__lte=moment)
        .order_by("-done_at_corrected", "-pk")
        .values("pk")[:1]
    )
    known: QuerySet[PressCalibration] = PressCalibration.objects.filter(
        container__in=rows, pk=Subquery(latest)
    )
    measured = {
        row.container_id: Press(row.ul_per_press, True, row.done_at_corrected) for row in known
    }
    return {
        pk: measured.get(pk) or Press(row.press_nominal_ul or PRESS_UL, False)
        for pk, row in rows.items()
    }


def _feeder(row: Supply, tank_id: int, presses: dict[int, Press]) -> Feeder:
    return Feeder(
        tank_id=tank_id,
        item_id=row.item_id,
        purpose=row.purpose,
        container_id=row.container_id,
        container_code=row.container.code,
        container_name=str(row.container),
        by_zone=row.zone_id is not None,
        press=presses[row.container_id],
        press_nominal_ul=row.container.press_nominal_ul or PRESS_UL,
        share_permille=row.share_permille,
    )


def tanks_by_container(showroom: Showroom, moment: datetime) -> dict[int, list[str]]:
    """Codes of the tanks that each container feeds itself, not by a zone; two queries."""
    codes = dict(
        TankCode.objects.of(showroom)
        .filter(voided_at=None)
        .at(moment)
        .values_list("tank_id", "code")
    )
    found: dict[int, list[str]] = {}
    rows = Supply.objects.of(showroom).at(moment).filter(tank__isnull=False)
    for container_id, tank_id in rows.order_by("pk").values_list("container_id", "tank_id"):
        if tank_id in codes:
            found.setdefault(container_id, []).append(codes[tank_id])
    return {container_id: sorted(tanks) for container_id, tanks in found.items()}
