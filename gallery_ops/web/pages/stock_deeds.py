"""Counted, poured over, opened, finished, thrown away, weighed empty: each kept by an action."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.overview import measure_page, weigh_page
from gallery_ops.overview.desk import act
from gallery_ops.overview.weigh_page import KINDS, ToWeigh, weighing_of
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import answer, attempt, typed_of
from gallery_ops.web.forms.measuring import SHOWN_UNIT, typed_amount, typed_mass
from gallery_ops.web.middleware import Asked
from gallery_ops.web.pages.weighing import next_address
from inventory.queries.bottle_check import code_in, too_old_from

WHAT = ("open", "finish", "waste", "expiry")
Write = Callable[[Asked, ToWeigh, dict[str, str]], None]


def _page(
    request: Asked,
    one: ToWeigh,
    template: str,
    write: Write,
    fields: tuple[str, ...],
    to: str,
    said: str = "",
    **more: object,
) -> HttpResponse:
    """One form about one container; ``fields`` begins with the one that a bad number belongs to,
    ``to`` is where it leads when it was written."""
    typed = typed_of(request, *fields)
    trouble = None
    if request.method == "POST":
        trouble = attempt(lambda: write(request, one, typed), fields[0])
        if trouble is None:
            messages.success(request, said or _("%(name)s: written down.") % {"name": one.name})
            return redirect(to)
    known = {"one": one, "typed": typed, "unit": SHOWN_UNIT[one.container.item.dimension]}
    return answer(request, template, trouble, {**known, **more})


@staff("weigh")
@require_http_methods(["GET", "POST"])
def container_count(request: Asked, code: str) -> HttpResponse:
    """Pieces counted, or the mark on a bottle read."""
    showroom = here(request)
    one = weighing_of(showroom, code, request.at)
    kind = request.GET.get("of", "") if request.GET.get("of", "") in KINDS else ""
    place = weigh_page.sitting(showroom, request.at, one.container.code, kind)
    return _page(
        request,
        one,
        "web/stock/count.html",
        _count,
        ("counted", "reason"),
        next_address(place, kind, request.GET.get("scale", "")),
        sitting=place,
        in_sitting="sit" in request.GET,
        kind=kind,
    )


def _count(request: Asked, one: ToWeigh, typed: dict[str, str]) -> None:
    counted = typed_amount(typed["counted"], one.container.item.dimension, _("Counted"))
    act(
        by=acting(request),
        kind="count",
        at=request.at,
        body={
            "container": one.container.code,
            "counted_base": counted.base,
            "text": typed["counted"][:40],
            "reason": typed["reason"].strip()[:200] or None,
        },
    )


@staff("record")
@require_http_methods(["GET", "POST"])
def container_decant(request: Asked, code: str) -> HttpResponse:
    """Poured from this container into another of the same item."""
    one = weighing_of(here(request), code, request.at)
    return _page(
        request,
        one,
        "web/stock/decant.html",
        _decant,
        ("amount", "into", "how"),
        reverse("container_decant", args=[one.container.code]),
        _("Written down on both sides."),
        others=measure_page.same_item(one.container),
    )


def _decant(request: Asked, one: ToWeigh, typed: dict[str, str]) -> None:
    try:
        into = code_in(typed["into"])
    except OutOfRange as no:
        raise Refused.from_range(no, field="into") from no
    if typed["how"] not in {"line", "amount"}:
        raise Refused(
            "nothing_said",
            _("Amount: say whether it was filled to the line, or how much was poured."),
            {"how": _("Choose one of the two.")},
        )
    base = None
    if typed["how"] == "amount":
        base = typed_amount(typed["amount"], one.container.item.dimension, _("Amount")).base
    act(
        by=acting(request),
        kind="decant",
        at=request.at,
        body={
            "source": one.container.code,
            "into": into,
            "amount_base": base,
            "text": typed["amount"][:40] or None,
        },
    )


@staff("record")
@require_http_methods(["GET", "POST"])
def container_state(request: Asked, code: str) -> HttpResponse:
    """Opened, finished, or thrown away with a reason."""
    one = weighing_of(here(request), code, request.at)
    return _page(
        request,
        one,
        "web/stock/state.html",
        _state,
        ("amount", "what", "how_much", "reason"),
        reverse("container_state", args=[one.container.code]),
        too_old_on=too_old_from(one.container),
    )


def _state(request: Asked, one: ToWeigh, typed: dict[str, str]) -> None:
    if typed["what"] not in WHAT:
        raise Refused(
            "nothing_said",
            _("What happened: nothing was chosen."),
            {"what": _("Choose one of the four.")},
        )
    base = None
    if typed["what"] in {"waste", "expiry"} and typed["how_much"] != "all":
        base = typed_amount(typed["amount"], one.container.item.dimension, _("Amount")).base
    act(
        by=acting(request),
        kind="container",
        at=request.at,
        body={
            "container": one.container.code,
            "what": typed["what"],
            "amount_base": base,
            "reason": typed["reason"].strip()[:200] or None,
        },
    )


@staff("correct")
@require_http_methods(["GET", "POST"])
def container_retare(request: Asked, code: str) -> HttpResponse:
    """The mass of the empty one, and of the regulator, put right from now on."""
    one = weighing_of(here(request), code, request.at)
    return _page(
        request,
        one,
        "web/stock/retare.html",
        _retare,
        ("tare", "regulator", "reason"),
        reverse("container_retare", args=[one.container.code]),
    )


def _retare(request: Asked, one: ToWeigh, typed: dict[str, str]) -> None:
    masses = {
        name: typed_mass(typed[name], word).mg if typed[name].strip() else None
        for name, word in (("tare", _("Empty mass")), ("regulator", _("Regulator")))
    }
    act(
        by=acting(request),
        kind="container",
        at=request.at,
        body={
            "container": one.container.code,
            "what": "retare",
            "amount_base": None,
            "reason": typed["reason"].strip()[:200] or None,
            "tare_mg": masses["tare"],
            "regulator_mg": masses["regulator"],
        },
    )
