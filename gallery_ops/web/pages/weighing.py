"""What to measure this week, and a container on a scale in twenty seconds."""

from __future__ import annotations

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.overview import weigh_page
from gallery_ops.overview.desk import act
from gallery_ops.overview.weigh_page import KINDS, ToWeigh, scales, weighing_of
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.forms.measuring import typed_mass
from gallery_ops.web.middleware import Asked

WHY_NOT = ("not_found", "no_scale", "not_reachable", "no_lifting", "other")
LONGEST = 200


@staff("weigh")
@require_GET
def weigh_list(request: Asked) -> HttpResponse:
    """This week's plan in walking order with its progress; everything on request."""
    kind = _kind(request.GET.get("of", ""))
    everything = request.GET.get("as") == "all"
    plan = weigh_page.weigh_list(
        here(request),
        request.at,
        kind=kind,
        everything=everything,
        number=request.GET.get("page", "1"),
    )
    asked = {"of": kind, "as": "all" if everything else ""}
    query = urlencode({name: value for name, value in asked.items() if value})
    return render(
        request,
        "web/stock/weigh_list.html",
        {
            "list": plan,
            "page": plan.page,
            "query": f"&{query}" if query else "",
            "here": "stock",
            "may_plan": may(acting(request), "plan.change"),
        },
    )


@staff("weigh")
@require_http_methods(["GET", "POST"])
def stock_weigh(request: Asked, code: str) -> HttpResponse:
    """The form; what was typed stays when something is refused."""
    showroom = here(request)
    one = weighing_of(showroom, code, request.at)
    typed = {
        name: request.POST.get(name, "")
        for name in ("gross", "scale", "regulator", "note", "why_not", "asked_again")
    }
    house_scales = scales(showroom)
    typed["scale"] = typed["scale"] or one.scale_first(house_scales, request.GET.get("scale", ""))
    kind = _kind(request.GET.get("of", ""))
    place = weigh_page.sitting(showroom, request.at, one.container.code, kind)
    trouble: Refused | None = None
    if request.method == "POST":
        try:
            _write(request, one, typed)
        except OutOfRange as no:
            trouble = Refused.from_range(no, field="gross")
        except Refused as no:
            trouble = no
        else:
            return redirect(next_address(place, kind, typed["scale"]))
    return render(
        request,
        "web/stock/weigh.html",
        {
            "one": one,
            "typed": typed,
            "scales": house_scales,
            "sitting": place,
            "in_sitting": "sit" in request.GET,
            "kind": kind,
            "why_not": _reasons(),
            "trouble": trouble,
            "field_words": trouble.fields.get("gross", "") if trouble else "",
            "is_held": trouble is not None and trouble.code == "overfilled",
            "may_correct": may(acting(request), "correct"),
            "here": "stock",
        },
        status=422 if trouble else 200,
    )


def next_address(place: weigh_page.Sitting, kind: str, scale: str) -> str:
    """The next of the plan on the same scale, or the list when nothing waits."""
    asked = {"sit": "1", "of": kind, "scale": scale}
    if place.following is None or not place.number:
        asked = {"of": kind}
        address = reverse("weigh_list")
    elif place.following.is_counted:
        address = reverse("container_count", args=[place.following.code])
    else:
        address = reverse("stock_weigh", args=[place.following.code])
    query = urlencode({name: value for name, value in asked.items() if value})
    return f"{address}?{query}" if query else address


def _write(request: Asked, one: ToWeigh, typed: dict[str, str]) -> None:
    """Gross mass, or why there is none."""
    said = {"name": one.name}
    if "unable" in request.POST:
        if typed["why_not"] not in WHY_NOT:
            raise Refused(
                "reason_missing",
                _("Could not weigh: say why."),
                {"why_not": _("Choose one of the reasons.")},
            )
        words = str(dict(_reasons())[typed["why_not"]])
        reason = f"{words}. {typed['note'].strip()}" if typed["note"].strip() else words
        act(
            by=acting(request),
            kind="unable",
            at=request.at,
            body={"check": "weigh", "reason": reason[:500], "container": one.container.code},
        )
        messages.info(request, _("%(name)s: kept why it could not be weighed.") % said)
        return
    if one.regulator is not None and typed["regulator"] not in {"on", "off"}:
        raise Refused(
            "regulator_unsaid",
            _("Regulator: say whether it was on the cylinder."),
            {"regulator": _("Choose on or off.")},
        )
    gross = typed_mass(typed["gross"], _("Gross mass"))
    act(
        by=acting(request),
        kind="weigh",
        at=request.at,
        body={
            "container": one.container.code,
            "gross_mg": gross.mg,
            "text": typed["gross"][:40],
            "scale": typed["scale"] or None,
            "regulator_on": typed["regulator"] == "on" if one.regulator else None,
            "asked_again": typed["asked_again"] == "yes",
            "note": typed["note"].strip()[:500] or None,
        },
    )
    messages.success(request, _("%(name)s: written down.") % said)


def _kind(text: str) -> str:
    return text if text in KINDS else ""


def _reasons() -> list[tuple[str, str]]:
    words = (
        _("It is not where it should be"),
        _("No scale at hand, or the scale is faulty"),
        _("It cannot be taken out now"),
        _("Too heavy for one person"),
        _("Another reason, in the note"),
    )
    return list(zip(WHY_NOT, words, strict=True))
