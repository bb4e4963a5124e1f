"""Which ranges hold for a tank, and what was read last?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import F, Window
from django.db.models.functions import RowNumber

from gallery_ops.kernel.models import Showroom
from tanks.models import Layout, Parameter, ParameterRange, Reading, Tank


@dataclass(frozen=True, slots=True)
class Ranges:
    """Hard, ask and alarm range of one parameter for one tank; None is an open side."""

    hard_low: float | None
    hard_high: float | None
    ask_low: float | None
    ask_high: float | None
    alarm_low: float | None
    alarm_high: float | None
    alarm_words: tuple[str, ...] = ()

    def is_impossible(self, value: float) -> bool:
        """Outside the hard range: refused."""
        return _outside(value, self.hard_low, self.hard_high)

    def is_doubtful(self, value: float) -> bool:
        """Outside the ask range: more often a slip than a value."""
        return _outside(value, self.ask_low, self.ask_high)

    def raises_alarm(self, value: float) -> bool:
        """Outside the alarm range: kept, and somebody is told."""
        return _outside(value, self.alarm_low, self.alarm_high)

    def usual_text(self) -> str:
        """The ask range in figures."""
        low = "" if self.ask_low is None else f"{self.ask_low:g}"
        high = "" if self.ask_high is None else f"{self.ask_high:g}"
        return f"{low} to {high}" if low and high else f"from {low}" if low else f"up to {high}"


def ranges_for(tank: Tank, parameter: Parameter) -> Ranges:
    """The ranges in force for this tank: its own, else its style's, else the default."""
    style = (
        Layout.objects.of(tank.showroom)
        .filter(tank=tank, voided_at=None)
        .still()
        .values_list("style", flat=True)
        .first()
    )
    own = ParameterRange.objects.of(tank.showroom).filter(parameter=parameter)
    by_tank = own.filter(tank=tank).first()
    by_style = own.filter(tank=None, style=style).first() if style else None
    return merged(parameter, by_style, by_tank)


def all_ranges(
    showroom: Showroom, styles: dict[int, str]
) -> dict[tuple[int, str], tuple[Parameter, Ranges]]:
    """Ranges of every parameter for every tank of ``styles`` (tank id -> style), in two queries."""
    parameters = list(Parameter.objects.all())
    own: dict[tuple[int, str | int], ParameterRange] = {}
    for row in ParameterRange.objects.of(showroom):
        own[(row.parameter_id, row.tank_id if row.tank_id else row.style)] = row
    return {
        (tank_id, parameter.key): (
            parameter,
            merged(parameter, own.get((parameter.pk, style)), own.get((parameter.pk, tank_id))),
        )
        for tank_id, style in styles.items()
        for parameter in parameters
    }


def merged(parameter: Parameter, *overrides: ParameterRange | None) -> Ranges:
    """The default with each override laid over it, field by field; later ones win."""
    fields: dict[str, Any] = {
        name: getattr(parameter, name)
        for name in ("hard_low", "hard_high", "ask_low", "ask_high", "alarm_low", "alarm_high")
    }
    for override in overrides:
        if override is None:
            continue
        for name in ("ask_low", "ask_high", "alarm_low", "alarm_high"):
            value = getattr(override, name)
            if value is not None:
                fields[name] = value
    return Ranges(**fields, alarm_words=tuple(parameter.alarm_words))


def latest_readings(
    showroom: Showroom, tank_ids: Iterable[int] | None = None, *, before: datetime | None = None
) -> dict[tuple[int, str], Reading]:
    """The last standing reading per tank and parameter, with its author, in one query."""
    rows = Reading.objects.of(showroom).standing()
    if tank_ids is not None:
        rows = rows.filter(tank_id__in=list(tank_ids))
    if before is not None:
        rows = rows.filter(done_at_corrected__lt=before)
    rows = rows.annotate(
        nth=Window(
            RowNumber(),
            partition_by=[F("tank_id"), F("parameter_id")],
            order_by=[F("done_at_corrected").desc(), F("pk").desc()],
        )
    ).filter(nth=1)
    return {
        (row.tank_id, row.parameter.key): row for row in rows.select_related("parameter", "person")
    }


def history(tank: Tank, parameter: str, since: datetime) -> list[Reading]:
    """Standing readings of one parameter since a moment, oldest first."""
    return list(
        Reading.objects.of(tank.showroom)
        .standing()
        .filter(tank=tank, parameter__key=parameter, done_at_corrected__gte=since)
        .select_related("parameter", "person")
        .order_by("done_at_corrected")
    )


def _outside(value: float, low: float | None, high: float | None) -> bool:
    return (low is not None and value < low) or (high is not None and value > high)
