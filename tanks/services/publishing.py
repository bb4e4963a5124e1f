"""The code on the label, and what a designer has approved for the public."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.values.codes import new_code
from tanks.models import Layout, PublicCode, Tank
from tanks.services.versions import freeze_label


@transaction.atomic
def give_public_code(*, tank: Tank, by: Membership, at: datetime) -> PublicCode:
    """The tank's public code; the one it has already, or a new random one never used before."""
    require(by, "plan.change", in_=tank.showroom)
    Tank.objects.select_for_update().get(pk=tank.pk)
    known = PublicCode.objects.of(tank.showroom).filter(tank=tank).still().first()
    if known is not None:
        return known
    code = new_code()
    while PublicCode.objects.filter(code=code).exists():
        code = new_code()
    row = PublicCode.objects.create(showroom=tank.showroom, tank=tank, code=code, from_at=at)
    audit.record(by=by, at=at, deed="public_code.given", subject=tank, after={"code": code})
    return row


@transaction.atomic
def publish_layout(
    *, layout: Layout, by: Membership, at: datetime, approved_on: date | None = None
) -> Layout:
    """Its designer has approved name, photo and text: visitors may read it from now on.

    What they read is kept with the open version as it stands now.
    """
    require(by, "plan.change", in_=layout.showroom)
    layout = (
        Layout.objects.select_for_update(of=("self",)).select_related("designer").get(pk=layout.pk)
    )
    name = layout.approved_as or (layout.designer.name if layout.designer else "")
    freeze_label(layout=layout, approved_by=name, approved_on=approved_on, at=at)
    layout.published_at = at
    layout.approved_on = approved_on
    layout.save(update_fields=["published_at", "approved_on"])
    audit.record(by=by, at=at, deed="layout.published", subject=layout)
    return layout


@transaction.atomic
def withdraw_layout(*, layout: Layout, by: Membership, at: datetime) -> Layout:
    """Visitors read 'resting' from now on."""
    require(by, "plan.change", in_=layout.showroom)
    layout = Layout.objects.select_for_update().get(pk=layout.pk)
    layout.published_at = None
    layout.save(update_fields=["published_at"])
    audit.record(by=by, at=at, deed="layout.withdrawn", subject=layout)
    return layout
