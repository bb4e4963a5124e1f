"""Which of the free places did somebody choose?"""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from tanks.models import Position


def chosen_place(free: Iterable[Position], key: str) -> Position | None:
    """The free place of this key; None where none was chosen. Raises Refused for any other."""
    if not key:
        return None
    for place in free:
        if str(place.pk) == key:
            return place
    allowed = _("Choose one of the places that are free.")
    raise Refused("no_place", _("This place is not free."), {"place": allowed})
