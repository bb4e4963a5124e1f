"""What a build needs, why so much, and where it comes from."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from gallery_ops.drawing import layers_svg
from gallery_ops.kernel.rights import may, require
from gallery_ops.overview.materials_page import Line, MaterialsPage, lede, materials_page
from gallery_ops.web import words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.attempts import deed_of
from gallery_ops.web.forms.boxes import filled
from gallery_ops.web.forms.material_deeds import do, material_boxes
from gallery_ops.web.middleware import Asked
from gallery_ops.web.plan import plan_areas
from tanks.queries.layouts import plants_known


@staff()
@require_http_methods(["GET", "POST"])
def layout_materials(request: Asked, code: str) -> HttpResponse:
    """The list; with ?n= that of a layout that stood there before."""
    by, number = acting(request), request.GET.get("n", "")
    if request.method == "POST":
        require(by, "plan.change", in_=here(request))
    page = materials_page(here(request), code, number, request.at)
    plants = plants_known()
    deed = deed_of(request, lambda name, typed: do(name, typed, page, plants, by, request.at))
    if deed.is_done:
        there = reverse("layout_materials", args=[page.page.now.code])
        return redirect(f"{there}?n={number}" if number else there)
    is_add = deed.name == "add" and deed.trouble is not None
    boxes = filled(
        material_boxes(page, plants),
        {"part": "ground"},
        typed={key: str(value) for key, value in request.POST.items()} if is_add else None,
        errors=deed.trouble.fields if is_add and deed.trouble else None,
        of="add-",
    )
    first, second = lede(page)
    context = {
        "page": page,
        "layout": page.page.layout,
        "now": page.page.now,
        "first": first,
        "second": second,
        "boxes": boxes,
        "plan": plan_areas(page.areas, page.inner_cm),
        "section": layers_svg(page.ground_mm),
        "may_change": may(by, "plan.change"),
        "trouble": deed.trouble,
        "deed": deed.name,
        "counts": _counts(page, request),
        "typed": request.POST,
        "needed_on": request.POST.get("needed_on")
        or (page.needed_on.isoformat() if page.needed_on else ""),
        "here": "tanks",
    }
    return render(request, "web/layout/materials.html", context, status=deed.status)


def _counts(page: MaterialsPage, request: Asked) -> list[tuple[Line, str, str]]:
    """Each thing with what stands in its two fields: as typed, as written, else as planned."""
    is_typed = request.POST.get("deed") == "count"
    found = []
    for line in page.things:
        row, uid = line.row, line.row.line.uid
        actual = row.line.actual_count
        count = words.number((row.need.count if actual is None else actual) / line.scale)
        cost = line.actual if row.line.actual_cents is not None else None
        paid = cost.text(words.mark_in_use()).rpartition(" ")[0] if cost else ""
        if is_typed:
            count = request.POST.get(f"count-{uid}", "")
            paid = request.POST.get(f"cost-{uid}", "")
        found.append((line, count, paid))
    return found
