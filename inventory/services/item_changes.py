"""What was noted of an item is put right."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from inventory.models import Item
from inventory.services.wanting import stock_changed

DENSITY = (500, 2500)
"""Lightest and heaviest liquid that is taken for one [mg/mL]; the table holds the same."""


@transaction.atomic
def set_density(*, item: Item, mg_per_ml: int, by: Membership, at: datetime) -> Item:
    """The density was measured, or read on the maker's sheet: no longer assumed.

    Weighings already written keep the density that they were reckoned with.

    Raises Refused outside 0.5 to 2.5 g/mL, and for what is not counted as a volume.
    """
    require(by, "correct", in_=item.showroom)
    item = Item.objects.select_for_update().select_related("showroom").get(pk=item.pk)
    if item.dimension != "volume":
        raise Refused(
            "no_density",
            f"{item.name} is not counted as a volume.",
            {"density": "Only a liquid has a density here."},
        )
    low, high = DENSITY
    if not low <= mg_per_ml <= high:
        raise Refused(
            "density_range",
            f"Density: {mg_per_ml / 1000:g} g/mL is not allowed.",
            {"density": f"Allowed: {low / 1000:g} to {high / 1000:g} g/mL; water has 1."},
            "Weigh 100 mL: its grams divided by 100.",
        )
    before = {
        "density_mg_per_ml": item.density_mg_per_ml,
        "density_is_assumed": item.density_is_assumed,
    }
    item.density_mg_per_ml, item.density_is_assumed = mg_per_ml, False
    item.save(update_fields=list(before))
    audit.record(
        by=by,
        at=at,
        deed="item.density",
        subject=item,
        before=before,
        after={"density_mg_per_ml": mg_per_ml, "density_is_assumed": False},
    )
    stock_changed(item.showroom, at, item)
    return item
