"""An empty gallery gets its name, its clock, its catalogues and its owner, in one transaction."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.queries.people import has_showroom
from gallery_ops.kernel.services.alone import alone
from gallery_ops.kernel.services.people import add_person, ensure_epoch, make_showroom
from gallery_ops.kernel.values.text import folded
from maintenance.services.templates import load_templates
from tanks.services.catalogue import load_parameters, load_species


@transaction.atomic
def begin(*, at: datetime, **said: Any) -> Membership:
    """Make the showroom and its owner.

    Raises
    ------
    Refused
        ``begun_already`` when a showroom is here; what the services refuse.
    """
    alone("first_run")
    if has_showroom():
        raise Refused("begun_already", "This gallery has begun already.", remedy="Sign in.")
    ensure_epoch(at=at)
    load_parameters()
    load_species()
    showroom = make_showroom(
        code=_code(said["name"]),
        name=said["name"],
        place=said["place"],
        zone=said["zone"],
        country=said["country"],
        currency=said["currency"],
        language=said["language"],
        decimal_mark=said["decimal_mark"],
        at=at,
    )
    owner = add_person(
        showroom=showroom,
        login=said["owner_login"],
        name=said["owner_name"],
        role="owner",
        password=said["password"],
        by=None,
        at=at,
    )
    load_templates(showroom=showroom, at=at)
    return owner


def _code(name: str) -> str:
    plain = "".join(c if c.isalnum() and c.isascii() else "-" for c in folded(name))
    return "-".join(part for part in plain.split("-") if part)[:40] or "gallery"
