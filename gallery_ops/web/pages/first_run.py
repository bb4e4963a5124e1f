"""The first page of an empty gallery."""

from __future__ import annotations

from typing import cast

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.queries.people import has_showroom
from gallery_ops.overview.first_run import begin
from gallery_ops.overview.who import SHOWROOM_KEY
from gallery_ops.web.forms.first_run import FirstRunForm
from gallery_ops.web.middleware import Asked
from gallery_ops.web.pages.sign_in import BACKEND

FIELD_OF = {"login": "owner_login", "name": "owner_name"}


@sensitive_post_parameters("password")
@require_http_methods(["GET", "POST"])
def first_run(request: HttpRequest) -> HttpResponse:
    """Name and clock of the gallery, and its owner; afterwards this page leads to the sign-in."""
    if has_showroom():
        return redirect("sign_in")
    asked = cast("Asked", request)
    form = FirstRunForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            owner = begin(at=asked.at, **form.cleaned_data)
        except Refused as no:
            for field, sentence in (no.fields or {"": no.sentence}).items():
                name = FIELD_OF.get(field, field)
                form.add_error(name if name in form.fields else None, sentence)
        else:
            login(request, owner.person, backend=BACKEND)
            request.session[SHOWROOM_KEY] = owner.showroom_id
            return redirect("day_board")
    return render(
        request, "web/sign/first_run.html", {"form": form}, status=422 if form.errors else 200
    )
