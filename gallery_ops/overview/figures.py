"""What the gallery uses and holds by plan, across rooms: glass from tanks, use from inventory."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date, datetime, time
from typing import Any

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day, instant
from inventory.queries.figures import UseFigures, dosed_items, full_dose_ml, use_figures
from tanks.queries.tanks import TankNow, fleet


@dataclass(frozen=True, slots=True)
class Figures:
    """Volumes in litres, use by plan a day; ``use`` holds the rest."""

    on: date
    tanks: int
    empty_tanks: int
    outer_volume_l: float
    inner_volume_l: float
    working_volume_l: float
    dose_ml_per_day_all_full: float
    use: UseFigures

    def as_dict(self) -> dict[str, Any]:
        """One flat mapping, for a table or for a program."""
        out: dict[str, Any] = {
            key: getattr(self, key)
            for key in (
                "tanks",
                "empty_tanks",
                "outer_volume_l",
                "inner_volume_l",
                "working_volume_l",
                "dose_ml_per_day_all_full",
            )
        }
        return {"on": self.on.isoformat(), **out, **asdict(self.use)}


def figures(showroom: Showroom, at: datetime) -> Figures:
    """The figures of the business day of ``at``, as its plans and its tanks were then."""
    tanks = fleet(showroom, at)
    return Figures(
        on=business_day(at, showroom.tz, showroom.cut_off_hour),
        tanks=len(tanks),
        empty_tanks=sum(tank.layout is None for tank in tanks),
        outer_volume_l=_sum(tank.volumes.outer_l for tank in tanks),
        inner_volume_l=_sum(tank.volumes.inner_l for tank in tanks),
        working_volume_l=_sum(tank.volumes.working_l for tank in tanks),
        dose_ml_per_day_all_full=full_dose_ml(dosed_items(showroom), map(_outer_mm3, tanks)),
        use=use_figures(showroom, at),
    )


def figures_on(showroom: Showroom, on: date) -> Figures:
    """The figures of a day, at noon."""
    return figures(showroom, instant(on, time(12), showroom.tz))


def _outer_mm3(tank: TankNow) -> int:
    glass = tank.tank
    return int(glass.length_mm * glass.width_mm * glass.height_mm)


def _sum(litres: Any) -> float:
    return round(sum(litres), 3)
