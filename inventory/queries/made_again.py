"""The same projection once more, from what was kept beside it.

A container's projection keeps its case and what its sisters taught that day; an item's keeps what
stands beside its places, and its places are the projections of its containers of that day.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from gallery_ops.kernel.errors import Unknown
from inventory.forecast.engine import ENGINE, project
from inventory.forecast.kept import sisters_of, unpacked
from inventory.forecast.pooled import Beside, conclude, part_of, together
from inventory.forecast.types import Case, Kind, Options, Pool, Projection
from inventory.models import Forecast

KEPT = Options(keep_left=True)
LARGEST = 1 << 256
KIND_OF_UNIT: dict[str, Kind] = {"mL": "bottle", "g": "tub", "piece": "piece"}


def made_again(forecast: Forecast) -> Projection:
    """The projection of a stored row, made again with the engine of today.

    Raises Unknown when what it was made from is not kept: it was made by another version of the
    arithmetic, or one of its places was projected again later that day.
    """
    kept = forecast.made_from
    if not kept or kept.get("engine") != ENGINE:
        raise Unknown("projection made by this version")
    if "case" in kept:
        return project([_case(forecast)])[0]
    rest = unpacked(kept["rest"])
    places = [_case(row) for row in _places(forecast)]
    places += [unpacked(text) for text in kept.get("loose", ())]
    reserve, reserve_sd = float(kept["reserve"]), float(kept["reserve_sd"])
    if len(places) == 1:
        pool = Pool(rest.case_id, tuple(places), reserve, reserve_sd, rest.supplier, rest.harm)
        return project([pool])[0]
    found = project(places, KEPT)
    total = together(part_of(case, one) for case, one in zip(places, found, strict=True))
    beside = Beside(
        rest.case_id, rest.unit, rest.as_of, reserve, reserve_sd, rest.supplier, rest.harm
    )
    return conclude(total, beside)


def digest_sum(digests: Iterable[str]) -> str:
    """One number for what several places were made from; one of them can be exchanged.

    >>> digest_sum(["0f", "01"]) == digest_sum(["10"])
    True
    """
    return f"{sum(int(one, 16) for one in digests) % LARGEST:064x}"


def blank(beside: Beside) -> Case:
    """What belongs to an item beside its places, as a case that can be kept."""
    return Case(
        case_id=beside.case_id,
        kind=KIND_OF_UNIT[beside.unit],
        unit=beside.unit,
        as_of=beside.as_of,
        history_from=beside.as_of,
        vessels=(),
        plan=(),
        supplier=beside.supplier,
        harm=beside.harm,
    )


def _case(row: Forecast) -> Case:
    kept = row.made_from
    return replace(unpacked(kept["case"]), sisters=sisters_of(kept.get("sisters")))


def _places(forecast: Forecast) -> list[Forecast]:
    rows = Forecast.objects.filter(
        item_id=forecast.item_id,
        container__isnull=False,
        as_of_on=forecast.as_of_on,
        made_at__lte=forecast.made_at,
    ).order_by("container_id")
    found = list(rows)
    if digest_sum(row.digest for row in found) != forecast.made_from["digests"]:
        raise Unknown("places of this projection as they were then")
    return found
