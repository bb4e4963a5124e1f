"""Items, containers and projections as rows that a database can filter, sort and page."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import BigIntegerField, QuerySet, Sum
from django.db.models.functions import Coalesce

from gallery_ops.kernel.models import Showroom
from inventory.models import Container, Forecast, Item
from inventory.queries.keys import container_key, item_key, parse_key


def items_listed(showroom: Showroom) -> QuerySet[Any]:
    """Items that are not voided, by name; each with ``ledger_base``, the sum of its movements."""
    rows: QuerySet[Any] = (
        Item.objects.of(showroom)
        .filter(voided_at=None)
        .annotate(ledger_base=_sum())
        .order_by("name", "pk")
    )
    return rows


def containers_listed(showroom: Showroom) -> QuerySet[Any]:
    """Containers that are not voided, by item; each with ``ledger_base``, item, lot and room."""
    rows: QuerySet[Any] = (
        Container.objects.of(showroom)
        .filter(voided_at=None)
        .select_related("item", "lot", "room")
        .annotate(ledger_base=_sum())
        .order_by("item__name", "code", "pk")
    )
    return rows


def forecasts_listed(showroom: Showroom) -> QuerySet[Any]:
    """The projections in force, the first to run out first, those without a day last."""
    rows: QuerySet[Any] = (
        Forecast.objects.of(showroom)
        .filter(is_current=True)
        .select_related("item", "container")
        .order_by("earliest_on", "item__name", "pk")
    )
    return rows


def codes_of_keys(showroom: Showroom, keys: Iterable[str]) -> dict[str, str]:
    """Name of a stock as a subject -> code of the container or item; at most two queries."""
    named = [found for found in map(parse_key, keys) if found is not None]
    containers = {pk for kind, pk in named if kind == "container"}
    items = {pk for kind, pk in named if kind == "item"}
    found: dict[str, str] = {}
    if containers:
        rows = Container.objects.of(showroom).filter(pk__in=containers)
        found |= {container_key(pk): code for pk, code in rows.values_list("pk", "code")}
    if items:
        rows = Item.objects.of(showroom).filter(pk__in=items)
        found |= {item_key(pk): code for pk, code in rows.values_list("pk", "code")}
    return found


def _sum() -> Coalesce:
    return Coalesce(Sum("movements__amount_base"), 0, output_field=BigIntegerField())
