"""The photos of one tank: then beside now from each viewpoint, and what somebody should look at."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from maintenance.queries.pack_words import looks_json
from tanks.models import PhotoReview
from tanks.queries.photos import Looked, photos_of_tank, taken_to_others
from tanks.queries.tanks import TankNow, tank_by_code
from tanks.services.photos import review_photo

FRONT = "front"


@dataclass(frozen=True, slots=True)
class Viewpoint:
    """Photos from one side, or of one thing that was looked at; the newest first."""

    key: str
    name: str
    photos: tuple[Looked, ...]

    @property
    def now(self) -> Looked:
        """The newest."""
        return self.photos[0]

    @property
    def then(self) -> Looked | None:
        """The oldest, where there are two."""
        return self.photos[-1] if len(self.photos) > 1 else None

    @property
    def now_word(self) -> str:
        """Only beside a then."""
        return _("now") if self.then else ""

    @property
    def between(self) -> tuple[Looked, ...]:
        """What lies between them."""
        return self.photos[1:-1]


@dataclass(frozen=True, slots=True)
class PhotoPage:
    """What the page shows."""

    now: TankNow
    viewpoints: tuple[Viewpoint, ...]
    on_their_way: tuple[Looked, ...]
    moved: tuple[PhotoReview, ...]
    left: int
    """How many nobody has looked at."""


def photo_page(showroom: Showroom, code: str, at: datetime) -> PhotoPage:
    """Photos of the tank that has or had this code. Raises Unknown."""
    now = tank_by_code(showroom, code, at)
    found = photos_of_tank(now.tank)
    here = [one for one in found if one.photo.whole_at is not None and one.outcome != "wrong"]
    by_view: dict[str, list[Looked]] = defaultdict(list)
    for one in here:
        by_view[one.photo.viewpoint].append(one)
    looks = looks_json(showroom.language)
    keys = sorted(by_view, key=lambda key: (key != FRONT, key))
    return PhotoPage(
        now=now,
        viewpoints=tuple(Viewpoint(key, _name(key, looks), tuple(by_view[key])) for key in keys),
        on_their_way=tuple(one for one in found if one.photo.whole_at is None),
        moved=tuple(taken_to_others(now.tank)),
        left=sum(one.outcome == "new" for one in here),
    )


def look_at(
    *, showroom: Showroom, by: Membership, typed: dict[str, str], at: datetime
) -> PhotoReview:
    """What somebody said of one photo. Raises Refused with its field, Unknown."""
    try:
        uid = UUID(typed.get("photo", ""))
    except ValueError:
        raise Unknown("photo") from None
    right = typed.get("right_tank", "").strip()
    tank = None
    if typed.get("outcome") == "wrong" and right:
        try:
            tank = tank_by_code(showroom, right, at).tank
        except Unknown:
            raise Refused(
                "unknown",
                _("Photo: no tank here is called %(code)s.") % {"code": right[:16]},
                {"right_tank": _("Write the code of a tank, or leave it empty.")},
            ) from None
    return review_photo(
        showroom=showroom,
        photo=uid,
        outcome=typed.get("outcome", ""),
        by=by,
        at=at,
        credit=typed.get("credit", ""),
        alternative_text=typed.get("alternative_text", ""),
        right_tank=tank,
    )


def _name(key: str, looks: dict[str, Any]) -> str:
    names = {FRONT: _("From the front"), "dead": _("Found dead"), "missing": _("Missing")}
    look = looks.get(key, {"label": key.replace("_", " ").capitalize()})
    return names.get(key) or str(look["label"])
