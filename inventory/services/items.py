"""What is kept and who brings it: items, scales, suppliers with their packs and closed days."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from django.db import transaction

from gallery_ops.kernel.models import HarmClass, Membership, Showroom
from gallery_ops.kernel.rights import require
from gallery_ops.kernel.services import audit
from gallery_ops.kernel.services.work import want_work
from gallery_ops.kernel.values.quantity import Mass, Quantity
from inventory.models import (
    Item,
    ItemKind,
    Scale,
    Supplier,
    SupplierClosure,
    SupplierItem,
)
from inventory.queries.keys import item_key
from inventory.services.amounts import base_of, written
from inventory.services.prices import note_price
from inventory.services.said import same_house


@transaction.atomic
def add_item(
    *,
    showroom: Showroom,
    code: str,
    name: str,
    kind: ItemKind | str,
    dimension: str,
    by: Membership,
    at: datetime,
    density_mg_per_ml: int | None = None,
    opened_life_days: int | None = None,
    unusable_base: int = 0,
    full_dose_ul_per_l: int | None = None,
    count_class: str = "B",
    harm_class: HarmClass | str = HarmClass.B,
    is_living: bool = False,
    storage: str = "",
) -> Item:
    """Something that is used up.

    Parameters
    ----------
    dimension : ``volume``, ``mass`` or ``piece``; decides the base unit of every amount
    density_mg_per_ml : 500 to 2500; 1000 and marked as assumed when left out [mg/mL]
    unusable_base : what stays in a container, in base units
    full_dose_ul_per_l : full daily dose per litre of outer volume [µL/L]
    is_living : plants and animals, which do not travel over a weekend
    storage : where it is kept
    """
    require(by, "plan.change", in_=showroom)
    item: Item = written(
        Item(
            showroom=showroom,
            code=code.strip().lower(),
            name=name.strip(),
            kind=kind,
            dimension=dimension,
            density_mg_per_ml=density_mg_per_ml or 1000,
            density_is_assumed=density_mg_per_ml is None,
            opened_life_days=opened_life_days,
            unusable_base=unusable_base,
            full_dose_ul_per_l=full_dose_ul_per_l,
            count_class=count_class,
            harm_class=harm_class,
            is_living=is_living,
            storage=storage.strip(),
        )
    )
    audit.record(by=by, at=at, deed="item.added", subject=item, after={"name": item.name})
    want_work(showroom, "forecast", item_key(item.pk), at=at)
    return item


@transaction.atomic
def add_scale(
    *,
    showroom: Showroom,
    name: str,
    by: Membership,
    at: datetime,
    noise_sd: Mass | None = None,
    resolution: Mass | None = None,
    most: Mass | None = None,
) -> Scale:
    """A scale, with its noise and step as far as they are known, and the most that it weighs."""
    require(by, "plan.change", in_=showroom)
    known: dict[str, Any] = {
        key: mass.mg
        for key, mass in (
            ("noise_sd_mg", noise_sd),
            ("resolution_mg", resolution),
            ("max_mg", most),
        )
        if mass is not None
    }
    scale: Scale = written(Scale(showroom=showroom, name=name.strip(), **known))
    audit.record(by=by, at=at, deed="scale.added", subject=scale, after=known)
    return scale


@transaction.atomic
def add_supplier(
    *,
    showroom: Showroom,
    name: str,
    by: Membership,
    at: datetime,
    delivery_weekdays: str = "1111100",
    cut_off_at: time | None = None,
    stated_lead_days: int = 5,
    min_order_cents: int = 0,
    is_exchange: bool = False,
    contact_private: str = "",
    **more: Any,
) -> Supplier:
    """Who delivers.

    Parameters
    ----------
    delivery_weekdays : seven characters from Monday, ``1`` for yes
    more : other columns of a supplier, as ``suppliers.change_supplier`` takes them
    """
    require(by, "plan.change", in_=showroom)
    supplier: Supplier = written(
        Supplier(
            showroom=showroom,
            name=name.strip(),
            delivery_weekdays=delivery_weekdays,
            cut_off_at=cut_off_at,
            stated_lead_days=stated_lead_days,
            min_order_cents=min_order_cents,
            is_exchange=is_exchange,
            contact_private=contact_private,
            **more,
        )
    )
    audit.record(
        by=by, at=at, deed="supplier.added", subject=supplier, after={"name": supplier.name}
    )
    return supplier


@transaction.atomic
def add_supplier_item(
    *,
    supplier: Supplier,
    item: Item,
    pack: Quantity,
    by: Membership,
    at: datetime,
    price_cents: int | None = None,
    lead_days: int | None = None,
    is_preferred: bool = True,
    how: str = "buy",
    deposit_cents: int = 0,
    their_code: str = "",
) -> SupplierItem:
    """A pack in which a supplier sells an item. A price is the owner's to enter.

    Parameters
    ----------
    lead_days : stated for this pack, where it differs from the supplier's [d]
    how : ``buy``, ``exchange`` or ``refill``
    deposit_cents : left with them for each of these
    """
    require(by, "plan.change", in_=supplier.showroom)
    if price_cents is not None:
        require(by, "price.change", in_=supplier.showroom)
    same_house(supplier.showroom, item=item)
    row: SupplierItem = written(
        SupplierItem(
            showroom=supplier.showroom,
            supplier=supplier,
            item=item,
            pack_base=base_of(item, pack, field="pack", least=1),
            price_cents=price_cents,
            lead_days=lead_days,
            is_preferred=is_preferred,
            how=how,
            deposit_cents=deposit_cents,
            their_code=their_code.strip(),
        )
    )
    if price_cents is not None:
        note_price(row, price_cents, by=by, at=at)
    audit.record(
        by=by,
        at=at,
        deed="supplier.pack_added",
        subject=supplier,
        after={"item": item.code, "pack": pack.text(), "price_cents": price_cents},
    )
    want_work(supplier.showroom, "reorder", at=at)
    return row


@transaction.atomic
def add_closure(
    *, supplier: Supplier, from_on: date, to_on: date, by: Membership, at: datetime
) -> SupplierClosure:
    """Days on which a supplier neither takes nor brings anything; ``to_on`` is open again."""
    require(by, "plan.change", in_=supplier.showroom)
    row: SupplierClosure = written(
        SupplierClosure(showroom=supplier.showroom, supplier=supplier, from_on=from_on, to_on=to_on)
    )
    audit.record(
        by=by,
        at=at,
        deed="supplier.closure_added",
        subject=supplier,
        after={"from_on": from_on, "to_on": to_on},
    )
    want_work(supplier.showroom, "reorder", at=at)
    return row
