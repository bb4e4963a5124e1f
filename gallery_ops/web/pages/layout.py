"""A layout: what it is made of, its brief, and the page on which it is built and changed."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from gallery_ops.drawing import Step, layers_svg, steps_svg
from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.money import Money
from gallery_ops.overview.layout_page import LayoutPage, layout_page, own_layout_page
from gallery_ops.web import words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import Deed, deed_of
from gallery_ops.web.forms import layout_fields as fields
from gallery_ops.web.forms.boxes import Box, filled
from gallery_ops.web.forms.layout_deeds import Doing, do, write_brief
from gallery_ops.web.middleware import Asked
from tanks.queries.layouts import groups_before, plants_known
from tanks.queries.places import designers


@staff()
@require_GET
def layout_detail(request: Asked, code: str) -> HttpResponse:
    """The layout of this tank; with ?n= one that stood there before."""
    page = layout_page(here(request), code, request.GET.get("n", ""), request.at)
    if page.now.code.casefold() != code.casefold():
        return redirect("layout_detail", code=page.now.code)
    by = acting(request)
    return render(
        request,
        "web/layout/detail.html",
        {**shown(page), "may_change": may(by, "plan.change"), "here": "tanks"},
    )


@staff("layout.read_own")
@require_http_methods(["GET", "POST"])
def own_layout(request: Asked) -> HttpResponse:
    """One of a guest designer's own layouts, and their yes to its label."""
    code, number = request.GET.get("tank", ""), request.GET.get("n", "")
    if not code:
        return redirect("own_layouts")
    by = acting(request)
    page = own_layout_page(by, code, number, request.at)
    doing = Doing(page, (), by, request.at)

    def approve(name: str, typed: dict[str, str]) -> str:
        if name != "approve":
            raise Refused("no_deed", _("Nothing was chosen."))
        return do(name, {**typed, "approved_by": by.person.name}, doing)

    deed = deed_of(request, approve)
    if deed.is_done:
        return redirect(request.get_full_path())
    context = {**shown(page), "is_own": True, "trouble": deed.trouble, "here": "layouts"}
    return render(request, "web/layout/detail.html", context, status=deed.status)


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def layout_brief(request: Asked, code: str) -> HttpResponse:
    """What the next layout should be."""
    showroom, by = here(request), acting(request)
    page = layout_page(showroom, code, "", request.at)
    deed = deed_of(request, lambda _name, typed: write_brief(typed, page, by, request.at))
    if deed.is_done:
        return redirect("layout_detail", code=page.now.code)
    brief = page.brief
    used = brief is not None and any(row.brief_id == brief.pk for row in page.layouts)
    known: dict[str, object] = {}
    if brief is not None and not used:
        names = ("title", "style", "idea", "wishes", "must_not", "viewing_sides", "show_weeks")
        known = {name: getattr(brief, name) for name in names}
        known["designer"] = brief.designer.name if brief.designer else ""
        known["agreed"] = bool(brief.agreed_at)
        known["target_show_on"] = brief.target_show_on.isoformat() if brief.target_show_on else ""
        if brief.budget_cents is not None:
            money = Money(brief.budget_cents, showroom.currency)
            known["budget"] = money.text(words.mark_in_use()).rpartition(" ")[0]
    boxes = fields.brief_boxes([one.name for one in designers(showroom)])
    lessons = [row for row in page.layouts if row.lessons]
    context = {
        "page": page,
        "now": page.now,
        "boxes": _filled(boxes, "brief", known, deed, request),
        "lessons": lessons[-5:],
        "trouble": deed.trouble,
        "here": "tanks",
    }
    return render(request, "web/layout/brief.html", context, status=deed.status)


@staff("plan.change")
@require_http_methods(["GET", "POST"])
def layout_build(request: Asked, code: str) -> HttpResponse:
    """Build it, change it, approve its label, take it out."""
    by = acting(request)
    page = layout_page(here(request), code, "", request.at)
    plants = plants_known()
    doing = Doing(page, plants, by, request.at)
    deed = deed_of(request, lambda name, typed: do(name, typed, doing))
    if deed.is_done:
        if deed.name in {"begin", "approve", "close"}:
            return redirect("layout_detail", code=page.now.code)
        return redirect(f"{reverse('layout_build', args=[page.now.code])}#{deed.name}")
    if page.layout is None and deed.trouble is None:
        return redirect("layout_brief", code=page.now.code)
    chosen = request.POST.get("group") or request.GET.get("group", "")
    group = next((row for row in page.groups if str(row.number) == chosen), None)
    context = {
        "page": page,
        "now": page.now,
        "layout": page.layout,
        "forms": _forms(request, page, chosen, deed) if page.layout else {},
        "chosen": group,
        "before": groups_before(page.layout) if page.layout else [],
        "pieces_in": [row for row in page.pieces if row.to_at is None],
        "trouble": deed.trouble,
        "deed": deed.name,
        "open": {deed.name: True} if deed.trouble else {},
        "typed": request.POST,
        "here": "tanks",
    }
    return render(request, "web/layout/build.html", context, status=deed.status)


def shown(page: LayoutPage) -> dict[str, Any]:
    """What both views of a layout show."""
    steps = [
        Step(
            f"{row.major}.{row.minor}",
            f"{words.day_month(words.local(row.from_at).date())}"
            f"{', ' + (row.reason or _('begun'))}",
            bool(n and row.major != page.versions[n - 1].major),
        )
        for n, row in enumerate(page.versions)
    ]
    last = page.version
    told = "; ".join(f"{step.number} {step.words}" for step in steps)
    after = f"{last.major}.{last.minor + 1}" if last is not None and page.stands else ""
    return {
        "page": page,
        "now": page.now,
        "layout": page.layout,
        "steps": steps_svg(steps, label=_("Versions: %(told)s") % {"told": told}, after=after),
        "section": layers_svg(
            [(row.front_mm, row.back_mm) for row in page.ground],
            label=_("The ground, cut from behind to the front"),
        ),
    }


def _forms(request: Asked, page: LayoutPage, chosen: str, deed: Deed) -> dict[str, list[Box]]:
    layout = page.layout
    if layout is None:
        raise Unknown("layout")
    group = next((row for row in page.groups if str(row.number) == chosen), None)
    story: dict[str, object] = {box.name: getattr(layout, box.name) for box in fields.story_boxes()}
    ground: dict[str, object] = {
        f"{name}-{n}": value
        for n, row in enumerate(page.ground, 1)
        for name, value in (
            ("material", row.material),
            ("front", words.number(row.front_cm)),
            ("back", words.number(row.back_cm)),
        )
    }
    by_name = layout.designer.name if layout.designer else ""
    today = words.local(request.at).date().isoformat()
    plants = plants_known()
    specs: dict[str, tuple[list[Box], dict[str, object]]] = {
        "story": (fields.story_boxes(), story),
        "group_add": (fields.group_boxes(plants), {}),
        "group_change": (
            fields.group_boxes(plants),
            fields.group_values(group, page.now.tank.length_mm),
        ),
        "piece_add": (fields.piece_boxes(), {}),
        "ground": (fields.ground_boxes(), ground),
        "version": (fields.version_boxes(), {}),
        "stage": (fields.stage_boxes(), {}),
        "approve": (
            fields.approve_boxes(),
            {"approved_by": layout.approved_as or by_name, "approved_on": today},
        ),
        "close": (fields.close_boxes(), {"lessons": layout.lessons}),
    }
    return {
        name: _filled(boxes, name, known, deed, request) for name, (boxes, known) in specs.items()
    }


def _filled(
    boxes: list[Box], name: str, known: dict[str, object], deed: Deed, request: Asked
) -> list[Box]:
    """The fields of one form; what was typed stays in the one that was sent."""
    is_sent = deed.trouble is not None and deed.name in {name, ""}
    return filled(
        boxes,
        known,
        typed={key: str(value) for key, value in request.POST.items()} if is_sent else None,
        errors=deed.trouble.fields if is_sent and deed.trouble else None,
        of=f"{name}-",
    )
