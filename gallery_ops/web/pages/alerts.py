"""Alerts: what asks for a person, worst first; one alert with its because."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.queries.alerts import closed_alerts, open_alerts
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.services.alerts import acknowledge
from gallery_ops.overview.alert_page import alert_page
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.middleware import Asked

PER_PAGE = 50


@staff()
@require_GET
def alert_list(request: Asked) -> HttpResponse:
    """Open alerts by class, and those that closed lately."""
    found = open_alerts(here(request)).select_related("acknowledged_by")
    page = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    return render(
        request,
        "web/alerts/list.html",
        {
            "page": page,
            "total": page.paginator.count,
            "people_first": open_alerts(here(request), harm_class="A").count(),
            "closed": closed_alerts(here(request))[:10],
            "here": "alerts",
        },
    )


@staff()
@require_GET
def alert_detail(request: Asked, uid: UUID) -> HttpResponse:
    """Why, what first, who has it."""
    page = alert_page(here(request), uid, request.at)
    return render(
        request,
        "web/alerts/detail.html",
        {
            "page": page,
            "alert": page.alert,
            "here": "alerts",
            "may_answer": may(acting(request), "alert.answer"),
        },
    )


@staff("alert.answer")
@require_POST
def alert_answer(request: Asked, uid: UUID) -> HttpResponse:
    """Somebody has it now; it closes by itself when its cause is gone."""
    page = alert_page(here(request), uid, request.at)
    try:
        acknowledge(
            showroom=here(request),
            cause_key=page.alert.cause_key,
            by=acting(request),
            at=request.at,
        )
    except Refused as no:
        messages.error(request, str(no))
    else:
        messages.success(request, _("You have it. It closes by itself when its cause is gone."))
    return redirect("alert_detail", uid=uid)
