"""How does stock change? Only here: one function writes movements, another reverses one.

A balance is the sum of movements, always. What a weighing or a count said stays true when something
older is entered later: a movement that is dated before the next measurement of its container is
matched by an opposite one at that measurement, which had seen its effect already.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Membership
from gallery_ops.kernel.values.quantity import Quantity
from inventory.models import (
    Container,
    Item,
    ItemKind,
    Lot,
    Movement,
    MovementKind,
    Use,
    Weighing,
)
from inventory.queries.measured import SEEN_BEFORE
from inventory.services.amounts import base_of
from inventory.services.said import Said, columns_of_taking_back, fact_columns, same_house

NO_LESS = -(10**9)
_BATCH = 200


@dataclass(frozen=True, slots=True)
class Entry:
    """One movement that is to be written. Its columns are those of :func:`post`."""

    item: Item
    kind: MovementKind
    amount: Quantity
    by: Membership
    at: datetime
    said: Said
    container: Container | None = None
    lot: Lot | None = None
    use: Use | None = None
    weighing: Weighing | None = None
    reason: str = ""
    sd_base: int | None = None


def post(
    *,
    item: Item,
    kind: MovementKind,
    amount: Quantity,
    by: Membership,
    at: datetime,
    said: Said,
    container: Container | None = None,
    lot: Lot | None = None,
    use: Use | None = None,
    weighing: Weighing | None = None,
    reason: str = "",
    sd_base: int | None = None,
) -> Movement:
    """Write one movement; the caller has asked for the right and holds the container's lock.

    Parameters
    ----------
    amount : signed, in the item's dimension; into the container is positive
    container : None for stock that nobody knows the container of
    sd_base : how well the amount is known, in base units of the item; None: as usual for its kind

    Raises
    ------
    Unknown
        container, lot, use or weighing of another item or showroom.
    Refused
        an amount of another dimension or beyond the limits.
    """
    entry = Entry(item, kind, amount, by, at, said, container, lot, use, weighing, reason, sd_base)
    return post_all([entry])[0]


@transaction.atomic
def post_all(entries: Sequence[Entry]) -> list[Movement]:
    """Write several movements, all or none, as :func:`post` writes one; in the order given."""
    movements = _insert([_movement(entry) for entry in entries])
    _keep_what_was_measured(movements)
    return movements


@transaction.atomic
def reverse(
    *,
    movement: Movement,
    by: Membership,
    at: datetime,
    said: Said,
    use: Use | None = None,
    weighing: Weighing | None = None,
    reason: str = "",
) -> Movement:
    """The opposite of a movement, naming it and counting from its moment; once only.

    ``use`` or ``weighing`` is the fact that takes back the one that the movement came from.
    """
    known = Movement.objects.filter(corrects=movement).first()
    if known is not None:
        return known
    opposite = Movement(
        **columns_of_taking_back(movement, by, at, said),
        item=movement.item,
        lot=movement.lot,
        container=movement.container,
        kind=movement.kind,
        amount_base=-movement.amount_base,
        use=use or movement.use,
        weighing=weighing or movement.weighing,
        reason=reason,
    )
    _insert([opposite])
    _keep_what_was_measured([opposite])
    return opposite


def lock(containers: Iterable[Container]) -> dict[int, Container]:
    """These containers, locked until the end of the transaction, in the order of their keys."""
    return lock_keys(container.pk for container in containers)


def lock_keys(keys: Iterable[int]) -> dict[int, Container]:
    """The containers with these keys, locked as by :func:`lock`."""
    rows = (
        Container.objects.select_for_update(of=("self",))
        .select_related("item", "lot", "showroom")
        .filter(pk__in=sorted(set(keys)))
        .order_by("pk")
    )
    return {row.pk: row for row in rows}


def matched_at(count: Movement) -> list[Movement]:
    """What was posted at a count because it was entered later than the count had seen it."""
    if count.kind != MovementKind.COUNT or count.container is None:
        return []
    return list(
        Movement.objects.standing().filter(
            container=count.container,
            done_at_corrected=count.done_at_corrected,
            weighing=None,
            reason=SEEN_BEFORE,
        )
    )


def _insert(movements: list[Movement]) -> list[Movement]:
    made: list[Movement] = Movement.objects.bulk_create(movements, batch_size=_BATCH)
    return made


def _movement(entry: Entry) -> Movement:
    item, container, lot = entry.item, entry.container, entry.lot
    same_house(item.showroom, container=container, lot=lot, use=entry.use, weighing=entry.weighing)
    if container is not None and container.item_id != item.pk:
        raise Unknown("container of this item")
    return Movement(
        **fact_columns(item.showroom, entry.by, entry.at, entry.said),
        item=item,
        lot_id=lot.pk if lot is not None else container.lot_id if container is not None else None,
        container=container,
        kind=entry.kind,
        amount_base=base_of(item, entry.amount, least=NO_LESS),
        sd_base=entry.sd_base,
        use=entry.use,
        weighing=entry.weighing,
        reason=entry.reason,
    )


def _keep_what_was_measured(movements: Iterable[Movement]) -> None:
    moved = [(row, row.container) for row in movements if row.container and row.amount_base]
    if not moved or not _measured_after(
        min(row.done_at_corrected for row, _ in moved), {of.pk for _, of in moved}
    ):
        return  # what is entered as it happens, which is nearly everything, ends here
    for movement, container in moved:
        later = _next_measurement(container, movement.done_at_corrected)
        if later is not None:
            _match(movement, later)


def _match(movement: Movement, later: Weighing | Movement) -> None:
    """The opposite of a movement, at the measurement that had seen its effect already."""
    is_gas = movement.item.kind == ItemKind.GAS
    opposite = Movement(
        showroom=movement.showroom,
        item=movement.item,
        lot=movement.lot,
        container=movement.container,
        kind=MovementKind.MEASURED_USE if is_gas else MovementKind.COUNT,
        amount_base=-movement.amount_base,
        weighing=later if isinstance(later, Weighing) else None,
        reason=SEEN_BEFORE,
        done_at=later.done_at,
        done_at_corrected=later.done_at_corrected,
        entered_at=movement.entered_at,
        person=movement.person,
        device=movement.device,
        action_id=movement.action_id,
    )
    _insert([opposite])


def _measured_after(moment: datetime, containers: set[int]) -> bool:
    """Was any of these containers weighed or counted after a moment, whether or not it stands?"""
    later = {"container__in": containers, "done_at_corrected__gt": moment}
    counts = Movement.objects.filter(kind=MovementKind.COUNT, weighing=None, **later)
    return Weighing.objects.filter(**later).exists() or counts.exists()


def _next_measurement(container: Container, moment: datetime) -> Weighing | Movement | None:
    """The first weighing or count of this container after a moment that still stands."""
    weighed = Weighing.objects.standing().filter(container=container)
    counted = (
        Movement.objects.standing()
        .filter(container=container, kind=MovementKind.COUNT, weighing=None)
        .exclude(reason=SEEN_BEFORE)
    )
    found: list[Weighing | Movement] = [
        row
        for rows in (weighed, counted)
        for row in rows.filter(done_at_corrected__gt=moment).order_by("done_at_corrected", "pk")[:1]
    ]
    return min(found, key=lambda row: row.done_at_corrected, default=None)
