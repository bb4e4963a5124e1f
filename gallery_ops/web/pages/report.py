"""How wrong were our projections? The report card, as pictures, as a table, or every one."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from gallery_ops.overview.report_page import every_forecast, report_page
from gallery_ops.web import report_words as words
from gallery_ops.web.access import here, staff
from gallery_ops.web.buy_row_words import start
from gallery_ops.web.middleware import Asked
from gallery_ops.web.report_done_words import left_out

WAYS = ("table", "every")


@staff()
@require_GET
def forecast_report(request: Asked) -> HttpResponse:
    """?as=table gives the figures as a table, ?as=every each projection by page."""
    way = request.GET.get("as", "")
    way = way if way in WAYS else ""
    page = report_page(here(request), request.at)
    whole = page.card.whole.whole
    first, second = words.lede(page)
    days = words.span(page)
    context: dict[str, object] = {
        "page": page,
        "whole": whole,
        "first": first,
        "second": second,
        "way": way,
        "left_out": left_out(page),
        "here": "stock",
    }
    if way == "every":
        rows = every_forecast(here(request), request.at, request.GET.get("page", "1"))
        context |= {
            "rows": rows,
            "every": [words.every_row(row) for row in rows],
        }
    elif way == "table":
        context["lines"] = [
            {"name": start(line.name or _("all")), "cells": words.cells(line.whole)}
            for line in (page.card.whole, *page.card.kinds, *page.card.items)
        ]
    elif whole.n:
        said, stands_out = words.slots_words(whole)
        context |= {
            "vessels": words.vessels(whole),
            "luck": words.luck_words(whole),
            "slots": words.slots_picture(whole),
            "slots_said": said,
            "stands_out": stands_out,
            "axis": words.beads_axis(days),
            "tens": words.tens(page, days, request.at),
        }
    return render(request, "web/report/card.html", context)
