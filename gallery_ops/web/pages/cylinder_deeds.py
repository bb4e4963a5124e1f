"""What is done with a cylinder at a desk: it came, is put right, moved, sent away, marked, gone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from gallery_ops.kernel.errors import Forbidden, GalleryError, Held, Refused
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.overview.cylinder_change import OVERFILLED, keep_overfilled
from gallery_ops.overview.cylinder_choices import Choices, choices
from gallery_ops.overview.cylinder_page import cylinder_page, who_may_change
from gallery_ops.web import words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.cylinder_steps import step_views, ticked
from gallery_ops.web.forms.cylinder import CylinderForm, NewCylinderForm, Wired
from gallery_ops.web.forms.cylinder_place import MoveForm, RefillForm, RetireForm
from gallery_ops.web.middleware import Asked
from inventory.queries.cylinder_register import CylinderRow, cylinder_row
from inventory.services.cylinder_care import (
    correct_cylinder,
    mark_empty,
    retire_cylinder,
    stand_cylinder,
)
from inventory.services.cylinder_refill import OnScale, Stamp, back_from_refill, send_for_refill
from inventory.services.cylinder_steps import PUT_UP, TAKE_DOWN
from inventory.services.cylinders import add_cylinder

Deed = Callable[[], tuple[str, str]]
"""Does it; gives the code of the cylinder to show and what to say."""


@staff("record")
@require_http_methods(["GET", "POST"])
def cylinder_add(request: Asked) -> HttpResponse:
    """One came: what its shoulder says, and where it stands."""
    known = choices(here(request), request.at)
    form = NewCylinderForm(known, request.POST or None)

    def deed() -> tuple[str, str]:
        said = form.cleaned_data
        made = add_cylinder(
            item=known.gases[said["item"]],
            cylinder=form.cylinder(),
            supplier=known.suppliers.get(said["supplier"]),
            room=known.rooms.get(said["room"]),
            tank=_free(known, said["tank"], request),
            by=acting(request),
            at=request.at,
        )
        return made.code, _("%(serial)s is written down. Label it, and weigh it once.") % {
            "serial": said["serial"]
        }

    lede = (_("A cylinder came."), _("Read its shoulder; nothing is guessed."))
    if not known.gases:
        lede = (_("No gas is kept yet."), _("Add CO2 as an item of stock first."))
    return _answer(request, form, deed, lede, None)


def _free(known: Choices, code: str, request: Asked) -> Any:
    """The tank, if no cylinder hangs there: replacing one is a change, with its steps."""
    if not code:
        return None
    for row in cylinder_page(here(request), request.at).rows:
        if code in row.codes:
            raise Refused(
                "hangs_already",
                _("%(serial)s hangs at %(code)s.") % {"serial": row.detail.serial, "code": code},
                {"tank": _("A tank without a cylinder, or none.")},
                _("Write this one down for the store, then open the other and choose Change it."),
            )
    return known.tanks[code]


@staff("correct")
@require_http_methods(["GET", "POST"])
def cylinder_edit(request: Asked, code: str) -> HttpResponse:
    """What was read off it wrong is put right."""
    row = cylinder_row(here(request), code, request.at)
    form = CylinderForm(request.POST or None, initial=_stands(row))

    def deed() -> tuple[str, str]:
        correct_cylinder(
            container=row.container, by=acting(request), at=request.at, **form.stamped()
        )
        return row.container.code, _("Put right. What was weighed before keeps its tare.")

    lede = (_("Put right what is written of %(serial)s.") % {"serial": row.detail.serial}, "")
    return _answer(request, form, deed, lede, row)


def _stands(row: CylinderRow) -> dict[str, Any]:
    mark, detail = words.mark_in_use(), row.detail
    return {
        "serial": detail.serial,
        "tare": Mass(row.container.tare_mg or 0).text(mark),
        "fill": row.fill.text(mark),
        "regulator": Mass(detail.regulator_mg).text(mark) if detail.regulator_mg else "",
        "stamp": detail.stamp,
        "tested_on": detail.tested_on,
        "test_rule": detail.test_rule or ("typed" if detail.next_test_on else ""),
        "next_test_on": detail.next_test_on if detail.test_rule in {"", "typed"} else None,
        "is_exchange": "exchange" if detail.is_exchange else "refill",
        "held_by": detail.held_by,
        "name": row.container.name,
    }


@staff("record")
@require_http_methods(["GET", "POST"])
def cylinder_move(request: Asked, code: str) -> HttpResponse:
    """Where it stands, how it is held, which tanks it feeds and in which parts."""
    row = cylinder_row(here(request), code, request.at)
    known = choices(here(request), request.at)
    form = MoveForm(known, _posted(request), initial=_kept(request, _place(row, known)))
    steps = ticked(request.POST, request.at)

    def deed() -> tuple[str, str]:
        said = form.cleaned_data
        stand_cylinder(
            container=row.container,
            shares=form.shares(),
            room=known.rooms.get(said["room"]),
            place=said["place"],
            held_by=said["held_by"],
            second=known.people.get(said["second"]),
            steps=steps,
            bubbles={"no": False, "yes": True}.get(said["bubbles"]),
            by=acting(request),
            at=request.at,
        )
        return row.container.code, _("Written down where it stands.")

    lede = (
        _("Where does %(serial)s stand, and what does it feed?") % {"serial": row.detail.serial},
        _("Putting one up or taking one down needs C3 and the list below."),
    )
    work = _Work(
        TAKE_DOWN if row.fed else PUT_UP,
        _("If it comes down from its tank") if row.fed else _("If it goes up at a tank"),
        steps,
    )
    return _answer(request, form, deed, lede, row, work)


def _place(row: CylinderRow, known: Choices) -> dict[str, Any]:
    room = next((uid for uid, one in known.rooms.items() if one.pk == row.room_id), "")
    found: dict[str, Any] = {
        "room": room,
        "place": row.container.place,
        "held_by": row.detail.held_by,
    }
    for n, one in enumerate(row.fed, 1):
        found[f"tank_{n}"], found[f"share_{n}"] = one.code, one.share_permille
    return found


@staff("record")
@require_http_methods(["GET", "POST"])
def cylinder_refill(request: Asked, code: str) -> HttpResponse:
    """It goes away to be filled, or it is back."""
    row = cylinder_row(here(request), code, request.at)
    known = choices(here(request), request.at)
    stands = {key: value for key, value in _stands(row).items() if key in _STAMP}
    form = RefillForm(known, _posted(request), is_back=row.is_away, initial=_kept(request, stands))
    steps = ticked(request.POST, request.at)

    def deed() -> tuple[str, str]:
        said = form.cleaned_data
        gross, scale = said["gross"], known.scales[said["scale"]]
        shared: dict[str, Any] = {
            "container": row.container,
            "second": known.people.get(said["second"]),
            "by": acting(request),
            "at": request.at,
        }
        if row.is_away:
            stamp = Stamp(
                said["tested_on"], said["next_test_on"], said["test_rule"] or "", said["stamp"]
            )
            try:
                back_from_refill(weighed=OnScale(gross, scale), stamp=stamp, **shared)
            except Held as held:
                kept = held.code == OVERFILLED and keep_overfilled(
                    container=row.container,
                    gross=gross,
                    scale=scale,
                    regulator_on=False,
                    by=acting(request),
                    at=request.at,
                )
                raise kept or held from None
            return row.container.code, _("It is back, and what came in is booked.")
        send_for_refill(weighed=OnScale(gross, scale) if gross else None, steps=steps, **shared)
        return row.container.code, _("It is away; its tanks have no gas until then.")

    serial = {"serial": row.detail.serial}
    lede = (
        (
            _("%(serial)s is back.") % serial,
            _("Weigh it, read its stamp again. Above its fill: set it apart, ring the supplier."),
        )
        if row.is_away
        else (
            _("%(serial)s goes away to be filled.") % serial,
            _("Valve shut, pressure let off, taken down by somebody with C3; cap on, upright."),
        )
    )
    work = _Work(TAKE_DOWN, _("It comes down, step by step"), steps) if row.fed else None
    return _answer(request, form, deed, lede, row, work)


_STAMP = ("stamp", "tested_on", "test_rule", "next_test_on")


@staff("record")
@require_POST
def cylinder_mark(request: Asked, code: str) -> HttpResponse:
    """EMPTY stands on it, or was wiped off."""
    row = cylinder_row(here(request), code, request.at)
    try:
        mark_empty(
            container=row.container,
            is_empty=request.POST.get("empty") != "no",
            by=acting(request),
            at=request.at,
        )
    except Forbidden:
        raise
    except Refused as no:
        messages.error(request, str(no))
    return redirect("cylinder_detail", code=row.container.code)


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def cylinder_retire(request: Asked, code: str) -> HttpResponse:
    """It leaves for good; its history stays."""
    row = cylinder_row(here(request), code, request.at)
    form = RetireForm(request.POST or None)

    def deed() -> tuple[str, str]:
        retire_cylinder(
            container=row.container,
            reason=form.cleaned_data["reason"],
            by=acting(request),
            at=request.at,
        )
        return "", _("%(serial)s has left. Its history stays.") % {"serial": row.detail.serial}

    lede = (
        _("%(serial)s leaves for good.") % {"serial": row.detail.serial},
        _("What is still in it leaves with it; the books then hold 0."),
    )
    return _answer(request, form, deed, lede, row)


@dataclass(frozen=True, slots=True)
class _Work:
    """The list of steps that belongs to a form."""

    listed: tuple[str, ...]
    head: str
    steps: dict[str, datetime]


def _posted(request: Asked) -> Any:
    """What was sent to be written down; None when a step was ticked or nothing was sent."""
    return request.POST if request.method == "POST" and "tick" not in request.POST else None


def _kept(request: Asked, stands: dict[str, Any]) -> dict[str, Any]:
    """What was typed stays while steps are ticked."""
    return {**stands, **{key: str(value) for key, value in request.POST.items()}}


def _answer(
    request: Asked,
    form: Wired,
    deed: Deed,
    lede: tuple[str, str],
    row: CylinderRow | None,
    work: _Work | None = None,
) -> HttpResponse:
    if form.is_bound and form.is_valid():
        try:
            code, said = deed()
        except Forbidden:
            raise
        except GalleryError as no:
            form.refuse(no)
        else:
            messages.success(request, said)
            return redirect("cylinder_detail", code=code) if code else redirect("cylinder_list")
    context = {
        "form": form,
        "errors": form.summary() if form.is_bound else [],
        "first": lede[0],
        "second": lede[1],
        "row": row,
        "here": "stock",
    }
    if work is not None:
        able = who_may_change(here(request), request.at)
        context["steps"] = step_views(work.steps, False, work.listed)
        context["steps_head"] = work.head
        context["is_able"] = any(one.person_id == acting(request).person_id for one in able)
        context["able"] = [one.person.name for one in able]
    status = 422 if form.is_bound else 200
    return render(request, "web/cylinders/form.html", context, status=status)
