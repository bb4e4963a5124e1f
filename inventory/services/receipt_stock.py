"""What came becomes stock: lots with their containers, cylinders with serial and tare, deposits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid5

from django.db.models import Sum

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.quantity import Mass, Quantity, quantity
from inventory.models import (
    Container,
    Deposit,
    GoodsReceipt,
    Item,
    Lot,
    MovementKind,
    SupplierItem,
)
from inventory.queries.packs import Vessel, vessels
from inventory.services.amounts import written
from inventory.services.containers import NewContainer, finish, receive
from inventory.services.cylinders import NewCylinder, add_cylinder
from inventory.services.said import Said, same_house

WENT_BACK = "went back to the supplier"
MOST_CONTAINERS = 500
"""At most so many containers with a code of their own come of one line."""


@dataclass(frozen=True, slots=True)
class CameCylinder:
    """A full cylinder as it is read off, and the empty one that went back for it.

    ``goes_back`` is a cylinder of the house that the van took along. One that still feeds tanks is
    refused: it is changed first, by the list of the change.
    """

    new: NewCylinder
    goes_back: Container | None = None


@dataclass(frozen=True, slots=True)
class Printed:
    """What is printed on a delivery of one thing, and what a pack of it cost."""

    maker_lot: str = ""
    expires_on: date | None = None
    price_cents: int | None = None


@dataclass(frozen=True, slots=True)
class Booking:
    """The receipt that all this belongs to, and who writes it."""

    receipt: GoodsReceipt
    by: Membership
    at: datetime
    said: Said

    def facts(self) -> dict[str, Any]:
        """The columns of a fact that belongs to the receipt."""
        receipt = self.receipt
        return {
            "showroom": receipt.showroom,
            "done_at": receipt.done_at,
            "done_at_corrected": receipt.done_at_corrected,
            "entered_at": receipt.entered_at,
            "person": receipt.person,
            "device": receipt.device,
            "action_id": receipt.action_id,
        }

    def said_as(self, name: str) -> Said:
        """The action of one part, named after the receipt's own, so that it is known again."""
        action_id: UUID | None = self.said.get("action_id")
        named: Said = {**self.said}
        named["action_id"] = uuid5(action_id, name) if action_id is not None else None
        return named

    def deposit(self, container: Container, cents: int, reason: str) -> None:
        """Money left with the supplier (positive) or given back; 0 is not noted."""
        if cents:
            written(
                Deposit(
                    **self.facts(),
                    supplier=self.receipt.supplier,
                    container=container,
                    receipt=self.receipt,
                    amount_cents=cents,
                    reason=reason,
                )
            )


def book_packs(
    booking: Booking,
    item: Item,
    pack: Quantity,
    packs: int,
    printed: Printed,
    *,
    name: str,
    field: str,
    sealed: Quantity | None = None,
) -> Lot:
    """A lot and its containers; loose pieces stand together in one.

    Parameters
    ----------
    name : of the part within the receipt
    field : where a refusal belongs on the form
    sealed : so much of each pack is filled over and stays closed, the rest stands beside it
    """
    receipt = booking.receipt
    vessel = vessels(receipt.showroom, [(item, pack.base)])[item.pk, pack.base]
    if item.dimension == "piece" and pack.base == 1:
        made = [_new(vessel, pack.of_base(packs))]
    elif packs > MOST_CONTAINERS:
        raise Refused(
            "too_many_containers",
            f"{item.name}: {packs} containers in one lot.",
            {field: f"{item.name}: allowed are 0 to {MOST_CONTAINERS}, each gets its own code."},
            "Write it down in parts.",
        )
    elif sealed is not None:
        first = quantity(item.dimension, pack.base - sealed.base)
        pair = (_new(vessel, pack, first), _new(Vessel(vessel.kind), sealed))
        made = [new for _ in range(packs) for new in pair]
    else:
        made = [_new(vessel, pack) for _ in range(packs)]
    rows = receive(
        item=item,
        containers=made,
        supplier=receipt.supplier,
        maker_lot=printed.maker_lot,
        expires_on=printed.expires_on,
        unit_price_cents=printed.price_cents,
        by=booking.by,
        at=booking.at,
        **booking.said_as(name),
    )
    lot: Lot = rows[0].lot
    return lot


def offer_of(booking: Booking, item: Item, pack_base: int) -> SupplierItem | None:
    """What the supplier said of such a pack."""
    found: SupplierItem | None = SupplierItem.objects.filter(
        supplier=booking.receipt.supplier, item=item, pack_base=pack_base
    ).first()
    return found


def book_cylinders(
    booking: Booking,
    item: Item,
    fill_mg: int,
    came: tuple[CameCylinder, ...],
    whole: int,
    *,
    name: str,
    field: str,
) -> list[Lot]:
    """Each of ``whole`` cylinders with its serial and deposit; what goes back leaves the house."""
    if len(came) != whole:
        raise Refused(
            "cylinders_missing",
            f"{item.name}: {whole} came, {len(came)} have a serial.",
            {field: f"{item.name}: a serial and a tare for each that came."},
            "Read them off the shoulder of each cylinder.",
        )
    offer = offer_of(booking, item, fill_mg)
    deposit = int(offer.deposit_cents) if offer is not None else 0
    lots: list[Lot] = []
    for number, one in enumerate(came, start=1):
        same_house(item.showroom, cylinder=one.goes_back)
        try:
            container = _cylinder(booking, item, fill_mg, one, f"{name}.{number}")
        except Refused as no:
            what = " ".join(no.fields.values()) or no.sentence
            place = field.replace("cylinders:", f"cylinder_{number}:")
            raise Refused(no.code, no.sentence, {place: what}, no.remedy) from None
        lots.append(container.lot)
        booking.deposit(container, deposit, "deposit")
        if one.goes_back is not None:
            booking.deposit(one.goes_back, -_left_for(booking, one.goes_back), "deposit back")
    return lots


def _left_for(booking: Booking, old: Container) -> int:
    """What was left with this supplier for a cylinder; where nobody noted it, what they ask for one
    of its own fill."""
    noted = Deposit.objects.standing().filter(container=old, supplier=booking.receipt.supplier)
    if noted.exists():
        return max(0, int(noted.aggregate(left=Sum("amount_cents"))["left"] or 0))
    offer = offer_of(booking, old.item, old.cylinder.fill_mg)
    return int(offer.deposit_cents) if offer is not None else 0


def _cylinder(
    booking: Booking, item: Item, fill_mg: int, one: CameCylinder, name: str
) -> Container:
    fresh = replace(one.new, fill=Mass(fill_mg))
    said = booking.said_as(name)
    old, supplier = one.goes_back, booking.receipt.supplier
    if old is not None:
        finish(
            container=old,
            kind=MovementKind.RETURN,
            reason=WENT_BACK,
            by=booking.by,
            at=booking.at,
            **said,
        )
    return add_cylinder(
        item=item, cylinder=fresh, supplier=supplier, by=booking.by, at=booking.at, **said
    )


def _new(vessel: Vessel, pack: Quantity, content: Quantity | None = None) -> NewContainer:
    has_rest = vessel.unusable_base and vessel.unusable_base < pack.base
    return NewContainer(
        kind=vessel.kind,
        capacity=pack,
        content=content,
        tare=Mass(vessel.tare_mg) if vessel.tare_mg is not None else None,
        unusable=pack.of_base(vessel.unusable_base) if has_rest else None,
        press_nominal_ul=vessel.press_nominal_ul,
    )
