"""What can be done with one container at a desk: each deed reads its own fields as people write."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Mass, Quantity, Volume, parse_quantity
from gallery_ops.web.words import mark_in_use
from inventory.queries.container_page import ContainerPage
from inventory.services.containers import (
    change_container,
    finish,
    move_container,
    open_container,
)
from inventory.services.counting import waste
from inventory.services.decant import decant

UNIT = {"volume": "mL", "mass": "g", "piece": "{piece}"}
WAYS_OUT = {"empty": "count", "waste": "waste", "expiry": "expiry", "return": "return"}
"""Why a container leaves, and as what its rest is booked."""
LONGEST_REASON, LONGEST_NAME, LONGEST_PLACE = 200, 80, 80
LOST = ("waste", "expiry")
NOT_FOR_GAS = ("open", "decant", "waste", "finish", "move")
Typed = Mapping[str, str]
Deed = Callable[[ContainerPage, Typed, Membership, datetime], str]


def do(deed: str, page: ContainerPage, typed: Typed, by: Membership, at: datetime) -> str:
    """Do it; what to say afterwards.

    Raises Refused with the names of the fields, Forbidden when the person has not the right.
    """
    if deed in NOT_FOR_GAS and page.container.kind == "cylinder":
        raise Refused(
            "cylinder",
            _("A cylinder is not opened, poured or moved here."),
            remedy=_("Its own page says who may, and in which steps."),
        )
    if deed not in DEEDS:
        raise Refused(
            "no_deed",
            _("Nothing was chosen to be done."),
            remedy=_("Choose one of the deeds below and send its own form."),
        )
    return DEEDS[deed](page, typed, by, at)


def _open(page: ContainerPage, typed: Typed, by: Membership, at: datetime) -> str:  # noqa: ARG001
    open_container(container=page.container, by=by, at=at)
    return _("Opened today: its opened life runs.")


def _decant(page: ContainerPage, typed: Typed, by: Membership, at: datetime) -> str:
    into = next((one for one in page.others if one.code == typed.get("into")), None)
    if into is None:
        raise Refused(
            "no_target",
            _("Into: no container was chosen."),
            {"into": _("Choose one that holds the same.")},
            _("Receive or label a bottle for it first, if there is none."),
        )
    amount = _amount(page, typed, "amount", _("Amount"))
    decant(source=page.container, into=into, amount=amount, by=by, at=at)
    return _("Poured over: two lines that sum to nothing.")


def _waste(page: ContainerPage, typed: Typed, by: Membership, at: datetime) -> str:
    kind = typed.get("kind", "waste")
    amount = _amount(page, typed, "amount", _("Amount"))
    waste(
        container=page.container,
        amount=amount,
        reason=_short(typed, "reason", _("Reason"), LONGEST_REASON),
        kind=_one_of(kind, LOST, "kind", _("What happened")),
        by=by,
        at=at,
    )
    return _("Taken off the books.")


def _finish(page: ContainerPage, typed: Typed, by: Membership, at: datetime) -> str:
    way = _one_of(typed.get("way", ""), tuple(WAYS_OUT), "way", _("Why it goes"))
    reason = _short(typed, "reason", _("Reason"), LONGEST_REASON)
    if way != "empty" and not reason:
        raise Refused(
            "reason_missing",
            _("Reason: nothing was given."),
            {"reason": _("Say what happened.")},
            _("A few words are enough."),
        )
    finish(
        container=page.container,
        kind=WAYS_OUT[way],
        reason=reason or way,
        by=by,
        at=at,
    )
    return _("Finished: it feeds nothing any more.")


def _move(page: ContainerPage, typed: Typed, by: Membership, at: datetime) -> str:
    wanted = typed.get("room", "")
    room = next((one for one in page.rooms if str(one.uid) == wanted), None)
    if wanted and room is None:
        raise Refused(
            "no_room",
            _("Room: there is no such room here."),
            {"room": _("Choose one of the list.")},
        )
    place = _short(typed, "place", _("Place"), LONGEST_PLACE)
    move_container(container=page.container, room=room, place=place, by=by, at=at)
    return _("Its place is written down.")


def _change(page: ContainerPage, typed: Typed, by: Membership, at: datetime) -> str:
    """What is left empty stays as it is."""
    changes: dict[str, Any] = {"name": _short(typed, "name", _("Name"), LONGEST_NAME)}
    if typed.get("tare", "").strip():
        tare = _read(typed["tare"], "mass", "tare", _("Empty mass"), "g")
        changes["tare_mg"] = _least(tare, Mass(1), "tare", _("Empty mass")).base
    if typed.get("unusable", "").strip():
        unit = UNIT[page.container.item.dimension]
        kept = _read(
            typed["unusable"],
            page.container.item.dimension,
            "unusable",
            _("What stays in it"),
            unit,
        )
        changes["unusable_base"] = _within(kept, page.row.full, "unusable", _("What stays in it"))
    if typed.get("press", "").strip():
        press = _read(typed["press"], "volume", "press", _("One press"), "mL")
        changes["press_nominal_ul"] = _within(
            _least(press, Volume(50), "press", _("One press")),
            Volume.ml(20),
            "press",
            _("One press"),
        )
    change_container(container=page.container, by=by, at=at, **changes)
    return _("Put right.")


DEEDS: Mapping[str, Deed] = {
    "open": _open,
    "decant": _decant,
    "waste": _waste,
    "finish": _finish,
    "move": _move,
    "change": _change,
}


def _amount(page: ContainerPage, typed: Typed, field: str, name: str) -> Quantity:
    dimension = page.container.item.dimension
    return _read(typed.get(field, ""), dimension, field, name, UNIT[dimension])


def _read(text: str, dimension: str, field: str, name: str, unit: str) -> Quantity:
    try:
        return parse_quantity(text, dimension, field=name, default=unit, mark=mark_in_use())
    except OutOfRange as no:
        raise Refused.from_range(no, field=field) from None


def _least(value: Quantity, least: Quantity, field: str, name: str) -> Quantity:
    if value.base >= least.base:
        return value
    raise Refused.from_range(
        OutOfRange(name, _("%(least)s or more") % {"least": least.text(mark_in_use())},
                   value.text(mark_in_use())),
        field=field,
    )  # fmt: skip


def _within(value: Quantity, most: Quantity, field: str, name: str) -> int:
    if 0 <= value.base <= most.base:
        return value.base
    raise Refused.from_range(
        OutOfRange(name, _("0 to %(most)s") % {"most": most.text(mark_in_use())},
                   value.text(mark_in_use())),
        field=field,
    )  # fmt: skip


def _short(typed: Typed, field: str, name: str, longest: int) -> str:
    text = " ".join(typed.get(field, "").split())
    if len(text) <= longest:
        return text
    raise Refused(
        "too_long",
        _("%(name)s: %(n)d characters are too many.") % {"name": name, "n": len(text)},
        {field: _("Allowed: up to %(n)d characters.") % {"n": longest}},
        _("Say it shorter."),
    )


def _one_of(value: str, allowed: tuple[str, ...], field: str, name: str) -> str:
    if value in allowed:
        return value
    raise Refused(
        "not_chosen",
        _("%(name)s: nothing was chosen.") % {"name": name},
        {field: _("Choose one of the list.")},
    )
