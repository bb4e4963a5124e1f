"""The buy list as its page needs it, and its two deeds: write a draft down, say that it is sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import PurchaseOrder
from inventory.queries.buy_list import buy_list
from inventory.queries.buy_types import BuyLine, BuyList, BuySection
from inventory.queries.orders import last_sent, letter_text, lines_of
from inventory.services import orders

Key = tuple[str, int]
"""Name of an item for programs, base units in a pack."""


@dataclass(frozen=True, slots=True)
class Letter:
    """The order of a section as it would be sent, with its number once it is a draft.

    ``sent_last`` is the number of the last order that was sent to its supplier; 0 when none was.
    """

    section: BuySection
    text: str
    sent_last: int


def buy_page(showroom: Showroom, at: datetime) -> tuple[BuyList, dict[int, Letter]]:
    """The list, and by supplier id its letter."""
    found = buy_list(showroom, at)
    sent = last_sent(showroom)
    return found, {
        one.supplier.pk: Letter(one, _text(one), sent.get(one.supplier.pk, 0))
        for one in found.sections
    }


def key_of(line: BuyLine) -> Key:
    """How a form names a row."""
    return str(line.item.uid), line.offer.pack_base


def _text(section: BuySection) -> str:
    draft = section.draft
    return letter_text(
        section.supplier,
        [(one.item, one.offer.pack_base, one.packs) for one in section.lines if one.packs],
        wanted_on=(draft.wanted_on if draft else None) or section.van.likely,
        note=draft.note if draft else "",
        sign=f"Order {draft}" if draft else "",
        kinds=section.kinds,
    )


@transaction.atomic
def write_draft(
    *,
    section: BuySection,
    packs: Mapping[Key, int],
    because: Mapping[Key, str],
    by: Membership,
    at: datetime,
    sent_last: int | None = None,
) -> PurchaseOrder:
    """So many packs of each row on the one draft to its supplier; 0 takes a row off.

    Parameters
    ----------
    because : why so many, kept with the line
    sent_last : as the list showed it; None: whoever asks did not look at a list

    Raises Refused as the services do, and ``sent_meanwhile`` when an order was sent to them since
    the list was looked at: what it asked for is on order.
    """
    order = orders.draft_order(supplier=section.supplier, by=by, at=at)
    _check_sent(section, sent_last)
    standing = {(row.item_id, row.pack_base): row for row in lines_of([order]).get(order.pk, [])}
    for line in section.lines:
        number = packs.get(key_of(line), line.packs)
        known = standing.get((line.item.pk, line.offer.pack_base))
        if number:
            orders.set_line(
                order=order,
                item=line.item,
                pack=quantity(line.item.dimension, line.offer.pack_base),
                packs=number,
                because={"words": because.get(key_of(line), "")},
                by=by,
                at=at,
            )
        elif known is not None:
            orders.remove_line(line=known, by=by, at=at)
    if order.wanted_on is None:
        order = orders.change_order(
            order=order, wanted_on=section.van.likely, note=order.note,
            carriage_cents=order.carriage_cents, by=by, at=at,
        )  # fmt: skip
    return order


@transaction.atomic
def say_sent(
    *,
    section: BuySection,
    packs: Mapping[Key, int],
    because: Mapping[Key, str],
    by: Membership,
    at: datetime,
    sent_last: int | None = None,
) -> PurchaseOrder:
    """It is sent as it stands on the page: from now on it is on order."""
    order = write_draft(
        section=section, packs=packs, because=because, by=by, at=at, sent_last=sent_last
    )
    return orders.send_order(order=order, by=by, at=at)


def _check_sent(section: BuySection, sent_last: int | None) -> None:
    who = section.supplier
    now = last_sent(who.showroom, supplier=who).get(who.pk, 0)
    if sent_last is None or sent_last == now:
        return
    raise Refused(
        "sent_meanwhile",
        f"Order {now:04d} to {who.name} was sent since this list was opened.",
        {"supplier": "What it holds is on order already."},
        "The list is as it is now: look at it again.",
    )


def section_of(found: BuyList, uid: str) -> BuySection:
    """The section of a supplier, by its name for programs. Raises Refused when there is none."""
    for one in found.sections:
        if str(one.supplier.uid) == uid:
            return one
    raise Refused(
        "no_section",
        "Nothing is to be ordered there any more.",
        {"supplier": "One of the suppliers on the list."},
        "The list has changed: look at it again.",
    )
