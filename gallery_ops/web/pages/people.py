"""People of the house, and the programs that may ask it."""

from __future__ import annotations

from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from gallery_ops.kernel.errors import GalleryError, Refused
from gallery_ops.kernel.rights import DEEDS, may
from gallery_ops.overview import people_page as house
from gallery_ops.web.access import acting, here, staff
from gallery_ops.web.forms.people import PersonForm, TokenForm
from gallery_ops.web.middleware import Asked


@staff("person.change")
@sensitive_post_parameters("pin", "password")
@require_http_methods(["GET", "POST"])
def people_list(request: Asked) -> HttpResponse:
    """Who works here; somebody new begins with a name, a role and six digits."""
    form = PersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            new = house.take_on(
                showroom=here(request), by=acting(request), at=request.at, **form.cleaned_data
            )
        except Refused as no:
            _into(form, no)
        else:
            messages.success(request, _("%(name)s works here now.") % {"name": new.person.name})
            return redirect("people_list")
    return render(
        request,
        "web/people/list.html",
        {"people": house.people(here(request), request.at), "form": form},
        status=422 if form.errors else 200,
    )


@staff("person.change")
@sensitive_post_parameters("pin")
@require_POST
def person_pin(request: Asked, uid: UUID) -> HttpResponse:
    """Another PIN for somebody."""
    membership = house.member(here(request), uid, request.at)
    try:
        house.new_pin(
            membership=membership,
            pin=request.POST.get("pin", ""),
            by=acting(request),
            at=request.at,
        )
    except Refused as no:
        words = " ".join([no.sentence, *no.fields.values(), no.remedy])
        messages.error(request, f"{membership.person.name}: {words}".strip())
    else:
        messages.success(request, _("%(name)s has a new PIN.") % {"name": membership.person.name})
    return redirect("people_list")


@staff("person.change")
@require_POST
def person_leave(request: Asked, uid: UUID) -> HttpResponse:
    """They work here no longer; their records stay."""
    membership = house.member(here(request), uid, request.at)
    try:
        house.part_with(membership=membership, by=acting(request), at=request.at)
    except Refused as no:
        messages.error(request, str(no))
    else:
        said = _("%(name)s works here no longer. What they wrote down stays under their name.")
        messages.success(request, said % {"name": membership.person.name})
    return redirect("people_list")


@staff("token.make")
@require_http_methods(["GET", "POST"])
def token_list(request: Asked) -> HttpResponse:
    """Programs that may ask; a new secret is shown once."""
    mine = [(right, str(words)) for right, words in DEEDS.items() if may(acting(request), right)]
    form = TokenForm(request.POST or None, rights=mine)
    secret = ""
    if request.method == "POST" and form.is_valid():
        try:
            made = house.let_in(by=acting(request), at=request.at, **form.cleaned_data)
        except Refused as no:
            _into(form, no)
        else:
            secret = made.secret
    return render(
        request,
        "web/people/tokens.html",
        {"tokens": house.programs(here(request)), "form": form, "secret": secret},
        status=422 if form.errors else 200,
    )


@staff("token.make")
@require_POST
def token_revoke(request: Asked) -> HttpResponse:
    """A program's token works no longer."""
    name = request.POST.get("name", "")
    try:
        house.shut_out(name=name, by=acting(request), at=request.at)
    except GalleryError as no:
        messages.error(request, no.sentence)
    else:
        messages.success(request, _("%(name)s may not ask any more.") % {"name": name})
    return redirect("token_list")


def _into(form: forms.Form, no: Refused) -> None:
    """A refusal of a service at the field that it concerns."""
    for field, sentence in (no.fields or {"": f"{no.sentence} {no.remedy}".strip()}).items():
        form.add_error(field if field in form.fields else None, sentence)
