"""What was used on the layout that stands in each tank, at today's price of a pack?"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction

from django.db.models import F, Sum

from gallery_ops.kernel.models import Showroom
from inventory.models import SupplierItem, Use
from tanks.science.show_cost import use_cents


@dataclass(slots=True)
class Used:
    """``cents``: of what has a price; ``unpriced``: names of what has none."""

    cents: Fraction = Fraction(0)
    unpriced: list[str] = field(default_factory=list)


def used_at_cost(showroom: Showroom, at: datetime) -> dict[int, Used]:
    """Tank -> doses and food since its layout began; two queries. Gas is not among the uses."""
    prices: dict[int, tuple[int, int]] = {}
    offers = SupplierItem.objects.of(showroom).filter(retired_at=None, price_cents__isnull=False)
    for item_id, cents, pack in offers.order_by("is_preferred", "-pk").values_list(
        "item_id", "price_cents", "pack_base"
    ):
        prices[item_id] = (cents, pack)
    rows = (
        Use.objects.of(showroom)
        .standing()
        .filter(
            tank__layouts__to_at=None,
            tank__layouts__voided_at=None,
            done_at_corrected__gte=F("tank__layouts__from_at"),
            done_at_corrected__lte=at,
        )
        .order_by()
        .values("tank_id", "item_id", "item__name")
        .annotate(given=Sum("given_base"))
        .order_by("tank_id", "item__name")
        .values_list("tank_id", "item_id", "item__name", "given")
    )
    found: dict[int, Used] = defaultdict(Used)
    for tank_id, item_id, name, given in rows:
        one = found[tank_id]
        if item_id in prices:
            one.cents += use_cents(given, *prices[item_id])
        elif given:
            one.unpriced.append(name)
    return dict(found)
