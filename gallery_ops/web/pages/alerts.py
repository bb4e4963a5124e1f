"""Alerts: what asks for a person, worst first; one alert with its because."""

from __future__ import annotations

from collections.abc import Mapping
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
from gallery_ops.overview.alert_page import AlertPage, alert_page, container_of
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.finding_form import day_typed, finding_form
from gallery_ops.web.forms.orders import action_id_of
from gallery_ops.web.middleware import Asked
from inventory.services.findings import answer_finding

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
    return _detail(request, alert_page(here(request), uid, request.at))


def _detail(
    request: Asked,
    page: AlertPage,
    typed: Mapping[str, str] | None = None,
    trouble: Refused | None = None,
) -> HttpResponse:
    by = acting(request)
    return render(
        request,
        "web/alerts/detail.html",
        {
            "page": page,
            "alert": page.alert,
            "here": "alerts",
            "may_answer": may(by, "alert.answer"),
            "form": finding_form(page, typed) if may(by, "correct") else None,
            "trouble": trouble,
        },
        status=422 if trouble else 200,
    )


@staff("correct")
@require_POST
def alert_found(request: Asked, uid: UUID) -> HttpResponse:
    """What was found: its days are explained from now on, and the alert closes by itself."""
    page = alert_page(here(request), uid, request.at)
    container = container_of(here(request), page)
    typed = {key: str(value) for key, value in request.POST.items()}
    try:
        first = day_typed(typed, "from_on", _("First day"))
        if first is None:
            raise Refused(
                "no_day",
                _("First day: it is missing."),
                {"from_on": _("Needed: the day on which it began or happened.")},
                _("Choose the day; the alert names the days in question."),
            )
        answer_finding(
            container=container,
            what=typed.get("what", ""),
            from_on=first,
            last_on=day_typed(typed, "last_on", _("Last day")),
            words=typed.get("words", ""),
            action_id=action_id_of(typed.get("action_id", "")),
            by=acting(request),
            at=request.at,
        )
    except Refused as no:
        return _detail(request, page, typed, no)
    messages.success(request, _("Noted. The alert closes when the stock is looked at again."))
    return redirect("alert_detail", uid=uid)


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
