"""Sums as pages. The address holds the values; nothing is written down, whatever is asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from gallery_ops.kernel.errors import Unknown
from gallery_ops.overview import sums_page as ask
from gallery_ops.web import words
from gallery_ops.web.access import here, staff
from gallery_ops.web.middleware import Asked
from gallery_ops.web.sums.co2 import CO2
from gallery_ops.web.sums.dose import DOSE
from gallery_ops.web.sums.room import ROOM_SUM
from gallery_ops.web.sums.salts import SALTS_SUM
from gallery_ops.web.sums.sheet import Sum, Trouble, answer_of
from gallery_ops.web.sums.water_change import WATER_CHANGE

SUMS: Mapping[str, Sum] = {one.key: one for one in (CO2, DOSE, WATER_CHANGE, ROOM_SUM, SALTS_SUM)}


@staff()
@require_GET
def calculator_list(request: Asked) -> HttpResponse:
    """Which sums there are."""
    sums = [(one, reverse("calculator", args=[one.key])) for one in SUMS.values()]
    return render(request, "web/sums/list.html", {"sums": sums, "here": "tanks"})


@staff()
@require_GET
def calculator(request: Asked, key: str) -> HttpResponse:
    """One sum: values left, answer right. What was typed stays, also where there is no answer."""
    sheet = SUMS.get(key)
    if sheet is None:
        raise Http404
    typed = {name: str(value)[:60] for name, value in request.GET.items()}
    chosen = typed.get(sheet.source, "").strip()
    source = _source(request, sheet, chosen) if chosen else None
    house = ask.Source("", "", {}, ask.house_ranges(here(request)))
    found = answer_of(sheet, typed, source, house)
    trouble = found if isinstance(found, Trouble) else None
    errors = dict(trouble.errors) if trouble else {}
    return render(
        request,
        "web/sums/page.html",
        {
            "sheet": sheet,
            "fields": [_field(one, sheet, typed, source, errors) for one in sheet.fields],
            "chooses": [
                {
                    "key": one.key,
                    "label": one.label,
                    "options": one.options,
                    "value": typed.get(one.key, ""),
                    "error": errors.get(one.key, ""),
                }
                for one in sheet.chooses
            ],
            "choices": _choices(request, sheet),
            "chosen": chosen,
            "source": source,
            "take": _take(request, sheet, typed, source) if source else None,
            "answer": None if trouble else found,
            "trouble": trouble,
            "example": f"{request.path}?{urlencode(_example(sheet, typed))}",
            "decimal_mark": words.mark_in_use(),
            "here": "tanks",
        },
        status=422 if trouble else 200,
    )


def _source(request: Asked, sheet: Sum, chosen: str) -> ask.Source:
    """Raises Unknown, which answers as a page that is not there."""
    if not chosen.isprintable():
        raise Unknown(sheet.source)
    if sheet.source == "room":
        return ask.room_source(here(request), request.at, chosen)
    return ask.tank_source(here(request), request.at, chosen)


def _choices(request: Asked, sheet: Sum) -> list[ask.Choice]:
    if sheet.source == "room":
        return ask.room_choices(here(request))
    return ask.tank_choices(here(request), request.at)


def _field(
    one: Any, sheet: Sum, typed: Mapping[str, str], source: ask.Source | None, errors: Any
) -> dict[str, Any]:
    known = source.known.get(sheet.known_for(typed).get(one.key, "")) if source else None
    return {
        "key": one.key,
        "label": one.full_label,
        "hint": one.hint(),
        "value": typed.get(one.key, ""),
        "step": one.step,
        "last": f"{known.value:g}" if known else one.usual,
        "error": errors.get(one.key, ""),
    }


def _take(
    request: Asked, sheet: Sum, typed: Mapping[str, str], source: ask.Source
) -> dict[str, Any]:
    """The values of the tank or room with their age, and the address that takes them over."""
    labels = {one.key: one for one in sheet.fields}
    said, taken = [], dict(typed)
    for key, known_key in sheet.known_for(typed).items():
        known = source.known.get(known_key)
        if known is None:
            continue
        field = labels[key]
        figure = f"{known.value:.10g}".replace(".", words.mark_in_use())
        taken[key] = figure
        name = "" if field.unit else f"{field.label} "
        value = f"{name}{words.number(known.value)} {field.unit}".strip()
        said.append((value, _age(known_key, known, request)))
    return {"said": said, "href": f"{request.path}?{urlencode(taken)}" if said else ""}


def _age(key: str, known: ask.Known, request: Asked) -> str:
    """How old a value is, or what else must be known of it."""
    if key == ask.VOLUME:
        return _("0.80 of outer, not measured")
    if key == ask.GAS:
        return _("the largest that stands there, full")
    if known.read_at is not None:
        return words.when(known.read_at, request.at)
    if not known.by:
        return _("who measured it is not written down")
    said = _("measured by %(who)s") % {"who": known.by}
    return f"{said}, {words.day_month(known.on)} {known.on.year}" if known.on else said


def _example(sheet: Sum, typed: Mapping[str, str]) -> dict[str, str]:
    mark = words.mark_in_use()
    values = {one.key: one.usual.replace(".", mark) for one in sheet.fields}
    kept = {key: text for key, text in typed.items() if key not in values}
    return {**kept, **values}
