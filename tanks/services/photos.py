"""A photo of a tank: announced by whoever took it, looked at, taken to the tank that it shows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, Unpack
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.facts import Said, fact_columns, moment_of
from tanks.models import Layout, Photo, PhotoReview, Tank
from tanks.services.photo_files import MOST_BYTES
from tanks.services.photo_parts import fill_from_parts

LONGEST_CREDIT: Final = 120
LONGEST_WORDS: Final = 300


@dataclass(frozen=True, slots=True)
class Announced:
    """What a tablet says of a picture whose bytes travel apart."""

    sha256: str
    size_bytes: int
    media_type: str
    viewpoint: str = ""
    subject: str = ""


@transaction.atomic
def announce_photo(
    *,
    showroom: Showroom,
    tank: Tank | None,
    told: Announced,
    by: Membership,
    at: datetime,
    **said: Unpack[Said],
) -> Photo:
    """A picture was taken of this tank, as it stood then; its bytes come later or are here.

    Raises
    ------
    Refused
        ``too_large``.
    """
    require(by, "record", in_=showroom)
    if told.size_bytes > MOST_BYTES:
        raise Refused(
            "too_large",
            _("Picture: %(n)d MB are too many.") % {"n": told.size_bytes // 1024 // 1024},
            {"size_bytes": _("Allowed: up to %(n)d MB.") % {"n": MOST_BYTES // 1024 // 1024}},
            _("Take it again at a smaller size."),
        )
    Showroom.objects.select_for_update(no_key=True).get(pk=showroom.pk)
    action_id, taken_at = said.get("action_id"), moment_of(at, said)
    if action_id is not None:
        known: Photo | None = Photo.objects.of(showroom).filter(action_id=action_id).first()
        if known is not None:
            return known
    photo: Photo = Photo.objects.create(
        showroom=showroom,
        sha256=told.sha256,
        size_bytes=told.size_bytes,
        media_type=told.media_type,
        viewpoint=told.viewpoint,
        subject=told.subject,
        tank=tank,
        layout=_standing(tank, taken_at),
        taken_at=taken_at,
        taken_by=by.person,
        action_id=action_id,
    )
    fill_from_parts(photo=photo, at=at)
    return photo


@transaction.atomic
def review_photo(
    *,
    showroom: Showroom,
    photo: UUID,
    outcome: str,
    by: Membership,
    at: datetime,
    credit: str = "",
    alternative_text: str = "",
    right_tank: Tank | None = None,
) -> PhotoReview:
    """A person looked at it: ``private``, ``public`` with credit and words, or the ``wrong`` tank.

    A further look corrects an earlier one; both stay.

    Raises
    ------
    Unknown
        No such photo here.
    Refused
        ``incomplete``, ``not_whole``, ``no_outcome``, ``same_tank``.
    """
    require(by, "correct", in_=showroom)
    row = Photo.objects.of(showroom).select_for_update(no_key=True).filter(uid=photo).first()
    if row is None or row.tank is None:
        raise Unknown("photo")
    credit, alternative_text = credit.strip(), alternative_text.strip()
    _check_review(row, outcome, credit, alternative_text, right_tank)
    was = row.tank
    review: PhotoReview = PhotoReview.objects.create(
        photo=row,
        outcome=outcome,
        credit=credit if outcome == "public" else "",
        alternative_text=alternative_text if outcome == "public" else "",
        from_tank=was if outcome == "wrong" else None,
        to_tank=right_tank if outcome == "wrong" else None,
        **_columns(showroom, by, at),
    )
    if outcome == "wrong" and right_tank is not None:
        row.tank = right_tank
        row.layout = _standing(right_tank, row.taken_at)
        row.save(update_fields=["tank", "layout"])
    audit.record(by=by, at=at, deed=f"photo.{outcome}", subject=row, after={"tank": str(was)})
    return review


@transaction.atomic
def take_back_photo(
    *, showroom: Showroom, action_id: UUID, by: Membership, at: datetime, undo_id: UUID
) -> None:
    """Whoever took it says that it was a slip: it is shown to nobody any more."""
    require(by, "record", in_=showroom)
    for row in Photo.objects.of(showroom).filter(action_id=action_id):
        columns = fact_columns(showroom, by, at, Said(action_id=undo_id))
        PhotoReview.objects.create(photo=row, outcome="undone", **columns)


def _columns(showroom: Showroom, by: Membership, at: datetime) -> dict[str, Any]:
    return fact_columns(showroom, by, at, Said())


def _check_review(
    row: Photo, outcome: str, credit: str, words: str, right_tank: Tank | None
) -> None:
    """What a look may say. Raises Refused."""
    if outcome not in {"private", "public", "wrong"}:
        raise Refused(
            "no_outcome",
            _("Photo: nothing was chosen."),
            {"outcome": _("Choose: for visitors, stays private, or another tank.")},
        )
    if right_tank is not None and right_tank.pk == row.tank_id and outcome == "wrong":
        raise Refused(
            "same_tank",
            _("Photo: it is with this tank already."),
            {"right_tank": _("Choose the tank that it shows.")},
        )
    if outcome != "public":
        return
    if row.whole_at is None:
        raise Refused("not_whole", _("Photo: not all of it has arrived yet."))
    missing = {
        "credit": "" if credit else _("Write who took it."),
        "alternative_text": ""
        if words
        else _("Write what it shows, for somebody who cannot see it."),
    }
    long = {
        "credit": _("At most 120 characters.") if len(credit) > LONGEST_CREDIT else "",
        "alternative_text": _("At most 300 characters.") if len(words) > LONGEST_WORDS else "",
    }
    fields = {name: missing[name] or long[name] for name in missing if missing[name] or long[name]}
    if fields:
        raise Refused("incomplete", _("For visitors a photo needs both:"), fields)


def _standing(tank: Tank | None, moment: datetime) -> Layout | None:
    """The layout that stood in this glass then."""
    if tank is None:
        return None
    found: Layout | None = tank.layouts.filter(voided_at=None).at(moment).first()
    return found
