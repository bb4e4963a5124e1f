"""What somebody read: checked against the ranges in force, kept as typed and as a number."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Unpack
from uuid import UUID

from django.db import transaction

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.models import Device, Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.facts import Said, columns_of_taking_back
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.limits import BadNumber, OutOfRange
from gallery_ops.kernel.values.text import parse_decimal
from tanks.models import Parameter, Reading, Tank
from tanks.queries.readings import Ranges, ranges_for
from tanks.science.bases import as_kept


@transaction.atomic
def record_reading(
    *,
    tank: Tank,
    parameter: str,
    text: str,
    by: Membership,
    at: datetime,
    done_at: datetime | None = None,
    done_at_corrected: datetime | None = None,
    asked_again: bool = False,
    unit: str = "",
    method: str = "",
    reagent_lot: str = "",
    light_phase: str = "",
    counted_as: str = "",
    device: Device | None = None,
    action_id: UUID | None = None,
) -> Reading:
    """Write down one reading.

    Parameters
    ----------
    text : as typed: a number with decimal comma or point, ``<0.5`` or ``>20`` at a limit of the
        method, or one of the words of a list
    asked_again : the person was asked "really?" and said yes
    counted_as : how the kit counts a nitrogen compound, such as ``NH4``; kept is the figure in the
        way of the parameter, and the text as typed beside it

    Raises
    ------
    Refused
        ``out_of_range`` beyond the hard range, ``ask_again`` in the range where a slip of the
        decimal mark is more likely than the value, ``unknown_word`` outside a list.
    """
    require(by, "record", in_=tank.showroom)
    row = Parameter.objects.filter(key=parameter).first()
    if row is None:
        raise Unknown("parameter")
    if action_id is not None:
        known = Reading.objects.of(tank.showroom).filter(action_id=action_id, parameter=row).first()
        if known is not None:
            return known
    found = _understood(tank, row, text, counted_as=counted_as, asked_again=asked_again)
    reading = Reading.objects.create(
        showroom=tank.showroom,
        tank=tank,
        parameter=row,
        **found,
        basis=row.basis,
        unit_as_typed=unit or _unit_read(row, counted_as),
        method=method,
        reagent_lot=reagent_lot,
        light_phase=light_phase,
        asked_again=asked_again,
        done_at=done_at or at,
        done_at_corrected=done_at_corrected or done_at or at,
        entered_at=at,
        person=by.person,
        device=device,
        action_id=action_id,
    )
    want_work(tank.showroom, "watch", at=at)
    want_work(tank.showroom, "water", at=at)
    return reading


@transaction.atomic
def take_back_reading(
    *,
    reading: Reading,
    by: Membership,
    at: datetime,
    **said: Unpack[Said],
) -> Reading:
    """It was a slip: a further fact says that the first does not count. Both stay."""
    require(by, "record", in_=reading.showroom)
    known = Reading.objects.filter(corrects=reading).first()
    if known is not None:
        return known
    back: Reading = Reading.objects.create(
        **columns_of_taking_back(reading, by, at, said),
        tank=reading.tank,
        parameter=reading.parameter,
        value=reading.value,
        word=reading.word,
        qualifier=reading.qualifier,
        text_as_typed=reading.text_as_typed,
    )
    want_work(reading.showroom, "watch", at=at)
    want_work(reading.showroom, "water", at=at)
    return back


@transaction.atomic
def correct_reading(
    *,
    reading: Reading,
    text: str,
    reason: str,
    by: Membership,
    at: datetime,
    counted_as: str = "",
    asked_again: bool = False,
) -> Reading:
    """It read otherwise: a further fact stands from the same moment on, and both stay to be seen.

    Method, lot and light are those of the reading that it corrects.

    Raises
    ------
    Refused
        ``no_reason`` without one, ``corrected_already`` when something stands in its place, and
        whatever ``record_reading`` refuses.
    """
    require(by, "correct", in_=reading.showroom)
    reason = reason.strip()
    if not reason:
        raise Refused(
            "no_reason",
            "A correction needs its reason.",
            {"reason": "1 to 200 characters."},
            "Say what was wrong: misread, mistyped, another tank.",
        )
    if reading.takes_back or Reading.objects.filter(corrects=reading).exists():
        raise Refused(
            "corrected_already",
            "Something stands in the place of this reading already.",
            {},
            "Correct the one that stands now.",
        )
    row = reading.parameter
    found = _understood(reading.tank, row, text, counted_as=counted_as, asked_again=asked_again)
    better: Reading = Reading.objects.create(
        **columns_of_taking_back(reading, by, at, {}) | {"takes_back": False},
        tank=reading.tank,
        parameter=row,
        **found,
        basis=row.basis,
        unit_as_typed=_unit_read(row, counted_as),
        method=reading.method,
        reagent_lot=reading.reagent_lot,
        light_phase=reading.light_phase,
        asked_again=asked_again,
        reason=reason[:200],
    )
    want_work(reading.showroom, "watch", at=at)
    want_work(reading.showroom, "water", at=at)
    return better


def _understood(
    tank: Tank, row: Parameter, text: str, *, counted_as: str, asked_again: bool
) -> dict[str, Any]:
    """What the text means, checked against the ranges of this tank, as columns of a reading."""
    text = text.strip()
    if row.kind == "list":
        return {"word": _word(row, text), "text_as_typed": text[:40]}
    qualifier, number = _number(row, text)
    try:
        number = as_kept(number, row.key, counted_as)
    except OutOfRange as trouble:
        raise Refused.from_range(trouble, field="value") from trouble
    _check(ranges_for(tank, row), row, number, asked_again=asked_again)
    return {"value": number, "qualifier": qualifier, "text_as_typed": text[:40]}


def _unit_read(row: Parameter, counted_as: str) -> str:
    return f"{row.unit} as {counted_as}"[:20] if counted_as else row.unit


def _number(row: Parameter, text: str) -> tuple[str, float]:
    qualifier = text[0] if text[:1] in {"<", ">"} else "="
    try:
        return qualifier, float(parse_decimal(text.lstrip("<>").strip(), field=row.name))
    except BadNumber as trouble:
        raise Refused.from_range(trouble, field="value") from trouble


def _word(row: Parameter, text: str) -> str:
    if text not in row.words:
        raise Refused(
            "unknown_word",
            f"{row.name}: {text!r} is not one of its words.",
            {"value": f"Allowed: {', '.join(row.words)}."},
            "Choose one of these.",
        )
    return text


def _check(ranges: Ranges, row: Parameter, number: float, *, asked_again: bool) -> None:
    unit = f" {row.unit_text}" if row.unit_text else ""
    if ranges.is_impossible(number):
        raise Refused(
            "out_of_range",
            f"{row.name}: {number:g}{unit} cannot be.",
            {"value": f"Allowed: {ranges.hard_low:g} to {ranges.hard_high:g}{unit}."},
            "Read it again, and look at the decimal mark.",
        )
    if ranges.is_doubtful(number) and not asked_again:
        raise Refused(
            "ask_again",
            f"{row.name}: {number:g}{unit} is unusual here.",
            {"value": f"Usual: {ranges.usual_text()}{unit}."},
            "If it is true, say 'yes, really'; otherwise correct it.",
        )
