"""The change of a cylinder, step by step. Everybody may read it; who has C3 may do it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Forbidden, GalleryError
from gallery_ops.kernel.rights import may
from gallery_ops.overview.cylinder_change import change
from gallery_ops.overview.cylinder_choices import choices
from gallery_ops.overview.cylinder_page import cylinder_page, who_may_change
from gallery_ops.web import cylinder_words, room_words, words
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.cylinder_steps import step_views, ticked
from gallery_ops.web.forms.cylinder_change import ChangeForm
from gallery_ops.web.middleware import Asked
from inventory.services.cylinder_checks import TWO_PEOPLE_FROM


@staff("record")
@require_http_methods(["GET", "POST"])
def cylinder_change(request: Asked, code: str) -> HttpResponse:
    """Each step is ticked with its time; the last button books all of it at once."""
    page = cylinder_page(here(request), request.at)
    row = page.of(code)
    if not row.fed:
        messages.error(
            request,
            _("%(serial)s hangs at no tank, so there is nothing to change.")
            % {"serial": row.detail.serial},
        )
        return redirect("cylinder_detail", code=row.container.code)
    known = choices(here(request), request.at)
    ready = {
        one.container.code: one
        for one in page.store
        if not one.detail.is_marked_empty and one.container.pk != row.container.pk
    }
    able = who_may_change(here(request), request.at)
    is_able = may(acting(request), "record") and any(
        one.person_id == acting(request).person_id for one in able
    )
    air = next((air for air in page.airs if air.room.pk == row.room_id), None)
    steps = ticked(request.POST, request.at)
    is_end = request.method == "POST" and "tick" not in request.POST
    form = ChangeForm(known, ready, request.POST if is_end else None, initial=_typed(request))
    if is_end and form.is_valid():
        try:
            done = change(
                old=row.container,
                tanks=[one.tank for one in row.fed],
                room=air.room if air is not None else None,
                new=form.new_one(),
                done=form.done(steps),
                room_ppm=form.cleaned_data["room_ppm"],
                old_stays=form.cleaned_data["old_stays"] == "stays",
                supplier=known.suppliers.get(form.cleaned_data["supplier"]),
                by=acting(request),
                at=request.at,
            )
        except Forbidden:
            raise
        except GalleryError as no:
            form.refuse(no)
        else:
            messages.success(request, _said(request, row.codes))
            for kept in done.kept:
                messages.error(request, _("Kept, not counted. %(why)s") % {"why": str(kept)})
            return redirect("cylinder_detail", code=done.put_up.code)
    errors = form.summary() if is_end else []
    return render(
        request,
        "web/cylinders/change.html",
        {
            "row": row,
            "v": cylinder_words.row_view(
                row, page.titles, cylinder_words.axis_of(row.today), request.at
            ),
            "form": form,
            "errors": errors,
            "steps": step_views(steps, missing=is_end),
            "is_able": is_able,
            "able": [one.person.name for one in able],
            "air": room_words.air_words(air, request.at) if air is not None else "",
            "room": air.room if air is not None else None,
            "two": row.fill.mg >= TWO_PEOPLE_FROM.mg,
            "has_washers": bool(known.washers),
            "here": "stock",
        },
        status=422 if is_end else 200,
    )


def _typed(request: Asked) -> dict[str, str]:
    """What was typed stays while steps are ticked."""
    return {key: str(value) for key, value in request.POST.items()}


def _said(request: Asked, codes: tuple[str, ...]) -> str:
    local = words.local(request.at)
    later = f"{(local.hour + 2) % 24:02d}:{local.minute:02d}"
    return _(
        "Changed and written down. Look at the drop checker and the animals of %(tanks)s at "
        "%(later)s and tomorrow."
    ) % {"tanks": ", ".join(codes), "later": later}
