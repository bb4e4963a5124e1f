"""Other ranges than the usual ones, for one tank or for all layouts of a style."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.work import want_work
from tanks.models import Parameter, ParameterRange, Style, Tank

SIDES = ("ask_low", "ask_high", "alarm_low", "alarm_high")
RIGHT_FOR_TANK, RIGHT_FOR_STYLE = "override_range", "target.change"


@transaction.atomic
def set_range(
    *,
    showroom: Showroom,
    key: str,
    sides: Mapping[str, float | None],
    reason: str,
    by: Membership,
    at: datetime,
    tank: Tank | None = None,
    style: str = "",
) -> ParameterRange:
    """From now on these sides hold for a tank, or for a style; None leaves the usual one in force.

    Parameters
    ----------
    sides : of SIDES, in the unit of the parameter
    tank, style : one of the two; a tank's own go before its style's

    Raises
    ------
    Forbidden
        for a tank without ``override_range``, for a style without ``target.change``.
    Refused
        ``range_refused`` with a line per side that cannot be, ``no_reason`` without one.
    """
    require(by, RIGHT_FOR_TANK if tank is not None else RIGHT_FOR_STYLE, in_=showroom)
    parameter = Parameter.objects.filter(key=key, kind="number").first()
    if parameter is None:
        raise Unknown("parameter")
    if tank is None and style not in Style.values:
        raise Refused("no_style", "Nothing of a style stands here.", {"holds": "Choose this tank."})
    _check(parameter, sides)
    if len(reason.strip()) < 3:
        raise Refused(
            "no_reason",
            f"{parameter.name}: no reason was written.",
            {"reason": "3 to 200 characters."},
            "Write why other ranges hold here.",
        )
    Showroom.objects.select_for_update().get(pk=showroom.pk)
    whose = {"tank": tank} if tank is not None else {"tank": None, "style": style}
    row = ParameterRange.objects.of(showroom).filter(parameter=parameter, **whose).first()
    before = {side: getattr(row, side) for side in SIDES} if row is not None else None
    if row is None:
        row = ParameterRange(showroom=showroom, parameter=parameter, **whose)
    for side in SIDES:
        setattr(row, side, sides.get(side))
    row.reason = reason.strip()[:200]
    row.save()
    audit.record_audit(
        showroom=showroom,
        by=by,
        at=at,
        deed="range.set",
        subject_kind="tank" if tank is not None else "style",
        subject_key=f"{tank.pk if tank is not None else style}:{key}",
        before=before,
        after={side: getattr(row, side) for side in SIDES},
        reason=row.reason,
    )
    want_work(showroom, "water", at=at)
    return row


def _check(parameter: Parameter, sides: Mapping[str, float | None]) -> None:
    """Within what can be, the alarm within what is asked about, and low below high."""
    all_sides = {
        side: getattr(parameter, side) if sides.get(side) is None else sides[side] for side in SIDES
    }
    wrong: dict[str, str] = {}
    low, high = parameter.hard_low, parameter.hard_high
    for side in SIDES:
        value = sides.get(side)
        if value is None:
            continue
        if (low is not None and value < low) or (high is not None and value > high):
            wrong[side] = f"Allowed: {low:g} to {high:g} {parameter.unit_text}.".replace(" .", ".")
    for kind in ("ask", "alarm"):
        begin, end = all_sides[f"{kind}_low"], all_sides[f"{kind}_high"]
        if begin is not None and end is not None and begin >= end:
            wrong.setdefault(f"{kind}_low", f"Below the upper side, {end:g}.")
    if wrong:
        raise Refused(
            "range_refused",
            f"{parameter.name}: these ranges cannot be.",
            wrong,
            "Nothing was changed.",
        )
