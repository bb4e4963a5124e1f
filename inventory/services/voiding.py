"""What was entered by mistake counts as never written: plans that nobody followed, unused items."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services.audit import record
from gallery_ops.kernel.services.work import want_work
from inventory.models import Container, Item, Lot, Use, UsePlan
from inventory.queries.keys import item_key


@transaction.atomic
def void_plan(*, plan: UsePlan, by: Membership, at: datetime, reason: str) -> UsePlan:
    """A version of a plan that was never meant. Refused once something was given by it."""
    require(by, "plan.change", in_=plan.showroom)
    plan = UsePlan.objects.select_for_update().get(pk=plan.pk)
    if Use.objects.filter(plan=plan).exists():
        raise Refused("plan_followed", f"{plan} was followed.", remedy="Stop it instead.")
    plan.voided_at = at
    plan.save(update_fields=["voided_at"])
    record(by=by, at=at, deed="plan.voided", subject=plan, reason=reason)
    want_work(plan.showroom, "forecast", item_key(plan.item_id), at=at)
    return plan


@transaction.atomic
def void_item(*, item: Item, by: Membership, at: datetime, reason: str) -> Item:
    """An item that was never kept. Refused once a plan, a lot, a container or a use names it."""
    require(by, "plan.change", in_=item.showroom)
    item = Item.objects.select_for_update().get(pk=item.pk)
    named = (
        UsePlan.objects.filter(item=item, voided_at=None).exists()
        or Use.objects.filter(item=item).exists()
        or Lot.objects.filter(item=item).exists()
        or Container.objects.filter(item=item).exists()
    )
    if named:
        raise Refused("item_used", f"{item} is in use.", remedy="Retire it instead.")
    item.voided_at = at
    item.save(update_fields=["voided_at"])
    record(by=by, at=at, deed="item.voided", subject=item, reason=reason)
    return item
