"""What may a visitor's page or a label ask of glass, place and layout?"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import OuterRef, Subquery

from gallery_ops.kernel.models import Showroom
from tanks.models import Brief, Equipment, Layout, Photo, PhotoReview, PublicCode, Tank
from tanks.queries.tanks import leads_to

MOST_PHOTOS = 3


@dataclass(frozen=True, slots=True)
class Released:
    """A photo for visitors, with what its release says."""

    uid: UUID
    taken_at: datetime
    credit: str
    words: str


def layout_with_parts(tank: Tank, at: datetime) -> Layout | None:
    """The layout that stood in this glass, with groups, species, stones, ground; 7 queries."""
    found: Layout | None = (
        tank.layouts.filter(voided_at=None)
        .at(at)
        .select_related("designer", "brief")
        .prefetch_related("plant_groups__species", "hardscape", "substrate_layers", "versions")
        .first()
    )
    return found


def released_photos(layout: Layout, at: datetime) -> list[Released]:
    """Photos of this layout in its glass of which somebody with the right said last that they are
    for visitors, the newest first; one query.
    """
    last = PhotoReview.objects.filter(photo=OuterRef("pk")).order_by("-pk")
    rows = (
        Photo.objects.of(layout.showroom)
        .filter(layout=layout, tank=layout.tank, whole_at__lte=at, refused_because="")
        .annotate(
            outcome=Subquery(last.values("outcome")[:1]),
            credit=Subquery(last.values("credit")[:1]),
            words=Subquery(last.values("alternative_text")[:1]),
        )
        .filter(outcome="public")
        .order_by("-taken_at", "-pk")
        .values_list("uid", "taken_at", "credit", "words")
    )
    return [Released(*row) for row in rows[:MOST_PHOTOS]]


def equipment_of(tank: Tank, at: datetime) -> list[Equipment]:
    """What serves this tank at that moment, one query."""
    return list(tank.equipment.at(at).order_by("kind", "pk"))


def next_brief(tank: Tank, at: datetime) -> Brief | None:
    """The newest plan for what comes next into this glass."""
    found: Brief | None = (
        tank.briefs.filter(voided_at=None, made_at__lte=at)
        .select_related("designer")
        .order_by("-made_at", "-pk")
        .first()
    )
    return found


def last_published(tank: Tank, before: datetime) -> Layout | None:
    """The layout that visitors could read last under this glass, before that moment."""
    found: Layout | None = (
        tank.layouts.filter(voided_at=None, published_at__isnull=False, from_at__lte=before)
        .select_related("designer")
        .order_by("-from_at")
        .first()
    )
    return found


def tank_of(code: PublicCode, at: datetime) -> Tank | None:
    """The glass that a code stands for: its own, or the one at its place at that moment.

    Where a glass went out of service and another took in what lived there, it is that other one.
    """
    if code.tank is not None:
        return leads_to(code.tank, at)
    if code.position is None:
        return None
    place = code.position.placements.filter(voided_at=None).at(at).select_related("tank").first()
    if place is None:
        return None
    stands: Tank = place.tank
    return stands


def open_code(tank: Tank, at: datetime) -> PublicCode | None:
    """The code on its label now."""
    found: PublicCode | None = tank.public_codes.at(at).first()
    return found


def open_codes(showroom: Showroom, tanks: Iterable[Tank], at: datetime) -> dict[int, str]:
    """Tank id -> code on its label; tanks without one are left out. One query."""
    ids = [tank.pk for tank in tanks]
    rows = PublicCode.objects.of(showroom).filter(tank__in=ids).at(at)
    return dict(rows.values_list("tank_id", "code"))
