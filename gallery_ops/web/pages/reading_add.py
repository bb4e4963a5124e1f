"""A test of the water, written down at a desk."""

from __future__ import annotations

from uuid import uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import answer, attempt
from gallery_ops.web.forms.orders import action_id_of
from gallery_ops.web.forms.reading import entries_of, moment, phase, typed_lines
from gallery_ops.web.middleware import Asked
from tanks.queries.reading_sheet import SheetLine, alarms_of, sheet
from tanks.queries.tanks import TankNow, tank_by_code
from tanks.services.water_tests import record_test


@staff("record")
@require_http_methods(["GET", "POST"])
def tank_reading_add(request: Asked, code: str) -> HttpResponse:
    """All parameters of one test in one form; nothing is written while a line cannot stand."""
    now = tank_by_code(here(request), code, request.at)
    lines = sheet(now.tank, now.layout.style if now.layout else "")
    typed = {key: str(value) for key, value in request.POST.items()}
    trouble = None
    if request.method == "POST":
        trouble = attempt(lambda: _write(request, now, lines, typed), "read_at")
        if trouble is None:
            return redirect("tank_readings", code=now.code)
    return answer(
        request,
        "web/tank/reading_add.html",
        trouble,
        {
            "here": "tanks",
            "now": now,
            "lines": typed_lines(lines, typed, trouble),
            "typed": typed,
            "phase": phase(typed.get("light_phase", "")),
            "action_id": action_id_of(typed.get("action_id", "")) or uuid4(),
        },
    )


def _write(request: Asked, now: TankNow, lines: list[SheetLine], typed: dict[str, str]) -> None:
    kept = record_test(
        tank=now.tank,
        entries=entries_of(typed, [line.parameter.key for line in lines]),
        light_phase=phase(typed.get("light_phase", "")),
        read_at=moment(typed.get("read_at", ""), here(request).tz, "read_at"),
        by=acting(request),
        at=request.at,
        action_id=action_id_of(typed.get("action_id", "")),
    )
    said = ngettext("%(n)d reading is kept.", "%(n)d readings are kept.", len(kept))
    messages.success(request, said % {"n": len(kept)})
    loud = alarms_of(kept, lines)
    if loud:
        messages.warning(
            request,
            _("Outside what is wanted here, an alert opens: %(names)s.")
            % {"names": ", ".join(loud)},
        )
