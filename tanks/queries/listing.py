"""Tanks and layouts as rows that a database can filter, sort and page; one query a page."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db.models import F, FilteredRelation, Q, QuerySet

from gallery_ops.kernel.models import Person, Showroom
from tanks.models import Layout, Tank, TankCode

_WALKING = (
    F("place_then__position__room__walking_order").asc(nulls_last=True),
    F("place_then__position__walking_order").asc(nulls_last=True),
)


def tanks_listed(showroom: Showroom, at: datetime) -> QuerySet[Any]:
    """Every tank that had a code at ``at``, in walking order, those without a place last.

    Each carries ``code``, ``room``, ``zone``, ``place``, and of its layout ``title``, ``stage``,
    ``style``, ``has_co2``, ``flooded_on``, ``designer``; None where nothing stands in it.
    """
    rows: QuerySet[Any] = (
        Tank.objects.of(showroom)
        .filter(voided_at=None)
        .annotate(
            code_then=_then("codes", at),
            place_then=_then("placements", at),
            layout_then=_then("layouts", at),
        )
        .annotate(
            code=F("code_then__code"),
            place=F("place_then__position__name"),
            room=F("place_then__position__room__name"),
            zone=F("place_then__position__zone__code"),
            title=F("layout_then__title"),
            stage=F("layout_then__stage"),
            style=F("layout_then__style"),
            has_co2=F("layout_then__has_co2"),
            flooded_on=F("layout_then__flooded_on"),
            designer=F("layout_then__designer__name"),
        )
        .exclude(code=None)
        .order_by(*_WALKING, "code", "pk")
    )
    return rows


def tanks_counted(showroom: Showroom, at: datetime) -> int:
    """How many :func:`tanks_listed` has, without joining all that its rows carry."""
    rows = TankCode.objects.of(showroom).filter(voided_at=None, tank__voided_at=None)
    return int(rows.at(at).count())


def keys_in_walking_order(showroom: Showroom, at: datetime) -> QuerySet[Any]:
    """Keys of the tanks of :func:`tanks_listed` in the same order, to page through a fleet."""
    rows: QuerySet[Any] = (
        Tank.objects.of(showroom)
        .filter(voided_at=None)
        .annotate(code_then=_then("codes", at), place_then=_then("placements", at))
        .filter(code_then__code__isnull=False)
        .order_by(*_WALKING, "code_then__code", "pk")
        .values_list("pk", flat=True)
    )
    return rows


def layouts_listed(showroom: Showroom, at: datetime) -> QuerySet[Any]:
    """Every layout, the newest first, with its designer, parts and the ``code`` of its tank.

    ``code`` is what the tank is called at ``at``, None for one that left.
    """
    rows: QuerySet[Any] = (
        Layout.objects.of(showroom)
        .filter(voided_at=None)
        .annotate(code_then=_then("tank__codes", at))
        .annotate(code=F("code_then__code"))
        .select_related("designer")
        .prefetch_related("plant_groups__species", "hardscape", "versions")
        .order_by("-from_at", "-pk")
    )
    return rows


def layouts_of_designer(rows: QuerySet[Any], person: Person) -> QuerySet[Any]:
    """Of these only the layouts credited to this person."""
    return rows.filter(designer__person=person)


def _then(relation: str, at: datetime) -> FilteredRelation:
    open_then = Q(**{f"{relation}__to_at": None}) | Q(**{f"{relation}__to_at__gt": at})
    begun = Q(**{f"{relation}__from_at__lte": at, f"{relation}__voided_at": None})
    return FilteredRelation(relation, condition=begun & open_then)
