"""Presses weighed, a level by eye, a gauge read: each kept by an action, with what it means."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.overview import measure_page
from gallery_ops.overview.desk import act
from gallery_ops.overview.weigh_page import container_by_code, scales, weighing_of
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import answer, attempt, typed_of
from gallery_ops.web.forms.measuring import typed_decimal, typed_mass, typed_whole
from gallery_ops.web.middleware import Asked

QUARTERS = range(5)


@staff("weigh")
@require_http_methods(["GET", "POST"])
def press_calibration(request: Asked, code: str) -> HttpResponse:
    """Twenty presses weighed: what one gives from now on."""
    showroom = here(request)
    container = container_by_code(showroom, code)
    typed = typed_of(request, "presses", "net", "before", "after", "scale")
    trouble = None
    if request.method == "POST":
        trouble = attempt(lambda: _press(request, container.code, typed), "net")
        if trouble is None:
            messages.success(request, _("Written down. It holds from now on, never before."))
            address = reverse("press_calibration", args=[container.code])
            return redirect(f"{address}?{urlencode({'scale': typed['scale']})}")
    known = scales(showroom)
    name = typed["scale"] or request.GET.get("scale", "")
    scale = next((one for one in known if one.name == name), known[0] if known else None)
    page = measure_page.press_page(showroom, container, request.at, scale)
    return answer(
        request,
        "web/stock/presses.html",
        trouble,
        {
            "page": page,
            "one": weighing_of(showroom, code, request.at),
            "typed": typed,
            "scales": known,
            "scale": scale,
        },
    )


def _press(request: Asked, code: str, typed: dict[str, str]) -> None:
    presses = typed_whole(typed["presses"], _("Presses"))
    if typed["net"].strip():
        mass = typed_mass(typed["net"], _("Mass of the presses"))
    else:
        before = typed_mass(typed["before"], _("Before"))
        after = typed_mass(typed["after"], _("After"))
        if after > before:
            raise Refused(
                "after_is_more",
                _("After: %(after)s is more than before, %(before)s.")
                % {"after": after.text(code="g"), "before": before.text(code="g")},
                {"after": _("Less than before.")},
                _("Pressing takes something out: weigh again, or exchange the two."),
            )
        mass = before - after
    act(
        by=acting(request),
        kind="press_calibration",
        at=request.at,
        body={
            "container": code,
            "presses": presses,
            "mass_mg": mass.mg,
            "text": " ".join(typed[name] for name in ("net", "before", "after"))[:60] or None,
            "scale": typed["scale"][:60] or None,
        },
    )


@staff("weigh")
@require_http_methods(["GET", "POST"])
def eye_count(request: Asked, code: str) -> HttpResponse:
    """Five pictures to tap."""
    one = weighing_of(here(request), code, request.at)
    typed = typed_of(request, "quarters")
    trouble = None
    if request.method == "POST":
        trouble = attempt(lambda: _eye(request, one.container.code, typed), "quarters")
        if trouble is None:
            messages.success(request, _("%(name)s: kept.") % {"name": one.name})
            return redirect("eye_count", code=one.container.code)
    last, fresh_at = measure_page.eye_page(one.container, request.at)
    pictures = [
        (n, n / 4, word)
        for n, word in zip(
            QUARTERS,
            (_("empty"), _("a quarter"), _("half"), _("three quarters"), _("full")),
            strict=True,
        )
    ]
    return answer(
        request,
        "web/stock/eye.html",
        trouble,
        {
            "one": one,
            "typed": typed,
            "pictures": pictures,
            "last": last,
            "last_words": pictures[last.quarters][2] if last is not None else "",
            "fresh_at": fresh_at,
        },
    )


def _eye(request: Asked, code: str, typed: dict[str, str]) -> None:
    if not typed["quarters"].isdecimal():
        raise Refused(
            "nothing_said",
            _("By eye: no picture was chosen."),
            {"quarters": _("Choose one of the five.")},
        )
    act(
        by=acting(request),
        kind="eye_count",
        at=request.at,
        body={"container": code, "quarters": min(int(typed["quarters"][:3]), 100)},
    )


@staff("weigh")
@require_http_methods(["GET", "POST"])
def container_pressure(request: Asked, code: str) -> HttpResponse:
    """A gauge read, and why it tells little."""
    one = weighing_of(here(request), code, request.at)
    typed = typed_of(request, "pressure", "temperature")
    trouble = None
    if request.method == "POST":
        trouble = attempt(lambda: _pressure(request, one.container.code, typed), "pressure")
        if trouble is None:
            messages.success(request, _("%(name)s: kept. It is no level.") % {"name": one.name})
            return redirect("container_pressure", code=one.container.code)
    rows = measure_page.gauge_page(one.container)
    last = rows[0] if rows else None
    degc = last.temperature_mdegc / 1000 if last and last.temperature_mdegc is not None else 20.0
    return answer(
        request,
        "web/stock/pressure.html",
        trouble,
        {
            "one": one,
            "typed": typed,
            "rows": rows,
            "degc": degc,
            "with_liquid": measure_page.gauge_with_liquid_bar(degc),
            "table": [(t, measure_page.gauge_with_liquid_bar(t)) for t in (10, 15, 20, 25, 30)],
        },
    )


def _pressure(request: Asked, code: str, typed: dict[str, str]) -> None:
    kpa = _thousandths(typed["pressure"], _("Pressure"), 100, _("0 to 250 bar"))
    temperature = None
    if typed["temperature"].strip():
        temperature = _thousandths(typed["temperature"], _("Temperature"), 1000, _("-10 to 50 °C"))
    act(
        by=acting(request),
        kind="pressure",
        at=request.at,
        body={
            "container": code,
            "pressure_kpa": kpa,
            "temperature_mdegc": temperature,
            "text": f"{typed['pressure'][:30]} {typed['temperature'][:30]}".strip(),
        },
    )


def _thousandths(text: str, field: str, per: int, allowed: str) -> int:
    """A typed number in whole smaller units, to the nearest one."""
    number = typed_decimal(text, field)
    least = 0 if per == 100 else -1000
    if not least <= number <= 10_000:
        raise OutOfRange(field, allowed, text, _("Read the gauge again."))
    return round(number * per)
