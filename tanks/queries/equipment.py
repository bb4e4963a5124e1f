"""What serves a tank, when was it looked after, and do its parts fit each other?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import F, Q

from gallery_ops.kernel.models import Showroom
from tanks.models import Equipment, EquipmentService, Tank
from tanks.queries.glasses import replaced, same_tank
from tanks.science.interlocks import Hours, Known

SHOWN = 12


@dataclass(frozen=True, slots=True)
class Serving:
    """One piece with its services, newest first, and the last flow that was measured at it."""

    row: Equipment
    services: list[EquipmentService]

    @property
    def flow_now(self) -> EquipmentService | None:
        """The last service at which the flow was measured."""
        return next((one for one in self.services if one.flow_l_per_h is not None), None)

    @property
    def flow_part(self) -> float | None:
        """Flow now against clean, 1 for as clean."""
        now, clean = self.flow_now, figure(self.row, "flow_l_per_h")
        if now is None or now.flow_l_per_h is None or not clean:
            return None
        return float(now.flow_l_per_h) / clean


def serving(tank: Tank) -> list[Serving]:
    """What serves it now, in the order of the kinds; three queries.

    A piece that was changed, or came over from the glass before, keeps the services of then.
    """
    after = replaced(tank.showroom)
    glasses = same_tank(tank, after)
    every = list(Equipment.objects.of(tank.showroom).filter(tank__in=glasses))
    now_of = heirs(every, after)
    services: dict[int, list[EquipmentService]] = defaultdict(list)
    for one in (
        EquipmentService.objects.of(tank.showroom)
        .standing()
        .filter(equipment__tank__in=glasses)
        .select_related("person")
        .order_by("-done_at_corrected", "-pk")
    ):
        services[now_of[one.equipment_id]].append(one)
    order = [kind for kind, _words in Equipment._meta.get_field("kind").choices or []]
    rows = [row for row in every if row.to_at is None and row.tank_id == tank.pk]
    rows.sort(key=lambda row: (order.index(row.kind), row.pk))
    return [Serving(row, services[row.pk][:SHOWN]) for row in rows]


def heirs(rows: Iterable[Equipment], after: Mapping[int, int]) -> dict[int, int]:
    """Row -> the row that holds for the same piece now.

    A change ends one row and begins the next of the same kind in the same instant; new glass does
    so for every piece, in their order, at the glass that took over.

    after : old glass -> the glass that stands in its place since
    """
    in_order = sorted(rows, key=lambda row: (row.from_at, row.pk))
    begun: dict[tuple[int, str, datetime], list[int]] = defaultdict(list)
    ended: dict[tuple[int, str, datetime], list[int]] = defaultdict(list)
    for row in in_order:
        begun[row.tank_id, row.kind, row.from_at].append(row.pk)
    for row in sorted(in_order, key=lambda row: row.pk):
        if row.to_at is not None:
            ended[row.tank_id, row.kind, row.to_at].append(row.pk)
    follows: dict[int, int] = {}
    for (tank_id, kind, moment), pieces in ended.items():
        for glass in (tank_id, after.get(tank_id, tank_id)):
            follows.update(zip(pieces, begun[glass, kind, moment], strict=False))
    found: dict[int, int] = {}
    for row in reversed(in_order):
        heir = follows.get(row.pk)
        found[row.pk] = row.pk if heir is None else found.get(heir, heir)
    return found


def served(tank: Tank) -> list[Equipment]:
    """What served it once, in whichever glass, last taken off first; what came over serves on."""
    came_over = ~Q(tank=tank) & Q(to_at=F("tank__retired_at"))
    return list(
        Equipment.objects.of(tank.showroom)
        .filter(tank__in=same_tank(tank), to_at__isnull=False)
        .exclude(came_over)
        .order_by("-to_at", "-pk")[:SHOWN]
    )


def piece_of(tank: Tank, number: int) -> Equipment | None:
    """A piece that serves this tank now, by its number."""
    if number >= 2**63:
        return None
    found: Equipment | None = (
        Equipment.objects.of(tank.showroom).filter(tank=tank, pk=number).still().first()
    )
    return found


def flows_now(showroom: Showroom) -> dict[int, float]:
    """Piece -> the last flow measured at it [L/h], also before it was changed; three queries."""
    filters = Equipment.objects.of(showroom).filter(kind="filter")
    now_of = heirs(filters, replaced(showroom))
    found: dict[int, float] = {}
    for piece, flow in (
        EquipmentService.objects.of(showroom)
        .standing()
        .filter(flow_l_per_h__isnull=False, equipment__kind="filter")
        .order_by("done_at_corrected", "pk")
        .values_list("equipment_id", "flow_l_per_h")
    ):
        found[now_of[piece]] = float(flow)
    return found


def known_of(
    rows: Iterable[Equipment], flows: Mapping[int, float], *, has_co2: bool, water_l: float | None
) -> Known:
    """The pieces of one tank as the rules ask for them; several heaters add up."""
    by_kind: dict[str, list[Equipment]] = defaultdict(list)
    for row in rows:
        by_kind[row.kind].append(row)
    heaters = [figure(row, "power_w") for row in by_kind["heater"]]
    known_w = [watts for watts in heaters if watts is not None]
    filters = by_kind["filter"]
    worst = min(
        (row for row in filters if row.pk in flows and figure(row, "flow_l_per_h")),
        key=lambda row: flows[row.pk] / (figure(row, "flow_l_per_h") or 1),
        default=None,
    )
    return Known(
        has_co2=has_co2,
        light=hours_of(by_kind["light"]),
        gas=hours_of(by_kind["gas"]),
        heater_w=sum(known_w) if known_w and len(known_w) == len(heaters) else None,
        water_l=water_l,
        flow_now_l_per_h=None if worst is None else flows[worst.pk],
        flow_clean_l_per_h=None if worst is None else figure(worst, "flow_l_per_h"),
    )


def hours_of(rows: Iterable[Equipment]) -> Hours | None:
    """The timer of the first piece that has one."""
    for row in rows:
        on_h, off_h = figure(row, "on_h"), figure(row, "off_h")
        if on_h is not None and off_h is not None:
            return Hours(on_h, off_h)
    return None


def figure(row: Equipment, name: str) -> float | None:
    """A figure of a piece; None where nobody wrote it down."""
    value: Any = row.figures.get(name)
    return None if value is None else float(value)
