"""The scales of the house: changed, held against a known mass, put away."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Scale
from inventory.services.said import local_day

LEAST, MOST = Mass.g(1), Mass.kg(200)


@transaction.atomic
def check_scale(
    *, scale: Scale, known: Mass, showed: Mass, by: Membership, at: datetime, on: date | None = None
) -> Scale:
    """It was held against a known mass and showed something.

    Raises
    ------
    Refused
        ``out_of_range`` for a mass outside 1 g to 200 kg or one that is off by more than a tenth.
    """
    require(by, "weigh", in_=scale.showroom)
    mark = scale.showroom.decimal_mark
    for field, word, mass in (("known", "Known mass", known), ("showed", "It showed", showed)):
        if not LEAST <= mass <= MOST:
            raise Refused(
                "out_of_range",
                f"{word}: {mass.text(mark, 'g')} is not allowed.",
                {field: "Allowed: 1 to 200000 g."},
                "Check the number; it is asked for in grams.",
            )
    off = showed - known
    if abs(off.mg) * 10 > known.mg:
        raise Refused(
            "out_of_range",
            f"It showed: {showed.text(mark, 'g')} is more than a tenth off.",
            {"showed": f"The known mass is {known.text(mark, 'g')}."},
            "Put it level, empty it, set it to nothing and try again; if it stays, do not use it.",
        )
    before = {"checked_on": scale.checked_on, "checked_off_mg": scale.checked_off_mg}
    scale.checked_on = on or local_day(scale.showroom, at)
    scale.checked_off_mg = off.mg
    scale.save(update_fields=["checked_on", "checked_off_mg"])
    audit.record(
        by=by,
        at=at,
        deed="scale.checked",
        subject=scale,
        before=before,
        after={"known": known, "showed": showed, "checked_on": scale.checked_on},
    )
    return scale


@transaction.atomic
def put_away(*, scale: Scale, by: Membership, at: datetime) -> Scale:
    """It is not used any more; its weighings stay."""
    require(by, "plan.change", in_=scale.showroom)
    if scale.voided_at is None:
        scale.voided_at = at
        scale.save(update_fields=["voided_at"])
        audit.record(by=by, at=at, deed="scale.put_away", subject=scale)
    return scale
