"""What is said of a van, line by line, and what is refused of it before anything is written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from gallery_ops.kernel.errors import Refused, Unknown
from gallery_ops.kernel.values.quantity import Quantity
from inventory.models import Item, ItemKind, OrderLine, PurchaseOrder
from inventory.services.amounts import base_of
from inventory.services.receipt_stock import CameCylinder
from inventory.services.said import same_house

MOST_PACKS = 10_000


@dataclass(frozen=True, slots=True)
class Instead:
    """Another thing came in place of what had been ordered.

    Parameters
    ----------
    item, pack : what came; another pack of the same item, or another item
    packs : how many of them
    settles_packs : how many of the ordered packs it stands for; they are not to come any more
    keep : False: it goes back, is not booked, and what was ordered stays to come
    sealed : of each pack so much is filled over at once and stays sealed; None: not split
    """

    item: Item
    pack: Quantity
    packs: int
    settles_packs: int
    keep: bool
    sealed: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Came:
    """What came of one line of the order.

    Parameters
    ----------
    line : what had been ordered
    whole, broken : packs; the broken ones are claimed and not booked
    maker_lot, expires_on : as printed
    instead : another thing that came for it
    cylinders : one entry for each whole cylinder of a gas
    stays : whether what is then still to come stays on order; None: was not asked yet
    broken_again : others come for the broken ones, so they stay on order
    more_is_right : more came than was ordered, and that is no mistake
    left_seen : packs that were still to come when counting began; None: nobody looked
    """

    line: OrderLine
    whole: int = 0
    broken: int = 0
    maker_lot: str = ""
    expires_on: date | None = None
    instead: Instead | None = None
    cylinders: tuple[CameCylinder, ...] = ()
    stays: bool | None = None
    broken_again: bool = False
    more_is_right: bool = False
    left_seen: int | None = None

    @property
    def settles(self) -> int:
        """Packs of the line that are not to come any more."""
        other = self.instead.settles_packs if self.instead and self.instead.keep else 0
        return self.whole + (0 if self.broken_again else self.broken) + other


def check_all(
    order: PurchaseOrder,
    came: Sequence[Came],
    lines: dict[int, OrderLine],
    left: dict[int, int],
) -> None:
    """Raise Refused for what cannot be, and for a question that was left open.

    Parameters
    ----------
    left : line id -> packs still to come before this van
    """
    if not any(left.values()):
        raise Refused(
            "nothing_to_come",
            f"Order {order} is closed: nothing of it is to come.",
            {"order": "An order with something still to come."},
        )
    if not came:
        raise Refused(
            "nothing_came",
            "Nothing was written down yet.",
            {"came": "At least one number; 0 for what did not come."},
            "Count one line and write its number.",
        )
    if len({one.line.pk for one in came}) != len(came):
        raise Refused("line_twice", "A line was written down twice.", {"came": "Each line once."})
    for one in came:
        if one.line.pk not in lines:
            raise Unknown("line of this order")
        _check_seen(one, left[one.line.pk])
        _check_numbers(one)
        _check_instead(one, left[one.line.pk])
        _check_rest(one, left[one.line.pk])


def _check_seen(one: Came, left: int) -> None:
    """The same van written down by two people would be booked twice: the second looks again."""
    if one.left_seen is None or one.left_seen == left:
        return
    raise _no(
        one,
        "came",
        f"{one.left_seen} were to come when this page was opened, now {left}.",
        "Another entry came between: leave empty what stands in it already.",
        "Compare with the receipts of this order, then count again.",
    )


def _check_numbers(one: Came) -> None:
    for field, packs in (("came", one.whole), ("broken", one.broken)):
        if not 0 <= packs <= MOST_PACKS:
            raise _no(one, field, f"{packs} is not allowed.", f"Allowed: 0 to {MOST_PACKS:,}.")


def _check_instead(one: Came, left: int) -> None:
    other = one.instead
    if other is None:
        return
    same_house(one.line.showroom, item=other.item)
    if other.item.kind == ItemKind.GAS:
        raise _no(
            one,
            "instead",
            "a cylinder is not booked as a substitute.",
            "Anything but gas.",
            "Send it back, or add it on the page of the cylinders.",
        )
    pack = base_of(other.item, other.pack, field="pack", least=1)
    if (other.item.pk, pack) == (one.line.item_id, one.line.pack_base):
        raise _no(
            one,
            "instead",
            "this is what was ordered.",
            "Another item or another pack.",
            "Write its number under Came.",
        )
    if not 1 <= other.packs <= MOST_PACKS:
        raise _no(one, "instead_packs", "how many came instead?", f"Allowed: 1 to {MOST_PACKS:,}.")
    rest = left - one.whole - one.broken
    if not 1 <= other.settles_packs <= max(rest, 0):
        raise _no(
            one,
            "instead_for",
            f"it cannot stand for {other.settles_packs} of the {max(rest, 0)} left.",
            f"Allowed: 1 to {rest}." if rest > 0 else "Nothing of this line is left.",
        )
    if other.sealed is not None:
        sealed = base_of(other.item, other.sealed, field="sealed", least=1)
        if sealed >= pack:
            raise _no(one, "sealed", "more than a pack holds.", f"Less than {other.pack.text()}.")


def _check_rest(one: Came, left: int) -> None:
    here = one.whole + one.broken
    if here > left and not one.more_is_right:
        raise _no(
            one,
            "more",
            f"{here} came, {left} were to come.",
            f"Allowed: 0 to {left}, or say that more is right.",
            "Count again; if it is so, say that more is right.",
        )
    rest = left - one.settles
    goes_back = one.instead is not None and not one.instead.keep
    if rest > 0 and one.stays is None and not goes_back:
        raise _no(
            one,
            "rest",
            f"{rest} still to come: does it stay on order?",
            "It stays, or it is not wanted.",
            "Say which.",
        )


def _no(one: Came, field: str, what: str, allowed: str, remedy: str = "") -> Refused:
    name = one.line.item.name
    return Refused(
        "out_of_range",
        f"{name}: {what}",
        {f"{field}:{one.line.uid}": f"{name}: {what} {allowed}"},
        remedy,
    )
