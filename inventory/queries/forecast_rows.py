"""The projections in force, with what they are about."""

from __future__ import annotations

from inventory.models import Forecast


def current_forecasts(showroom: object) -> list[Forecast]:
    """The newest projection of every container and item of a showroom, in one query."""
    rows = (
        Forecast.objects.of(showroom)
        .filter(is_current=True)
        .select_related("showroom", "item", "container__lot", "container__item")
        .defer("made_from")
        .order_by("pk")
    )
    return list(rows)


def learned_factor(row: Forecast) -> float:
    """Use per planned unit that a projection learned; 1 when nothing was planned."""
    for answer in row.because:
        if answer.get("what") == "learned" and answer.get("factor") is not None:
            return float(answer["factor"])
    return 1.0
