"""Animals by batch: arrived, moved, died, counted again. A count is the sum of movements."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Unpack

from django.db import transaction

from gallery_ops.kernel.errors import Held, Refused
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.kernel.rights import require
from inventory.models import LivestockBatch, LivestockMovement, Supplier
from inventory.queries.livestock import head_count
from inventory.services.amounts import written
from inventory.services.late_heads import settle_late
from inventory.services.said import (
    Said,
    columns_of_taking_back,
    fact_columns,
    local_day,
    moment_of,
    same_house,
)
from tanks.models import Species, Tank

MOST = 100_000
LEAVING = frozenset({"die", "cull", "sold", "gift", "missing"})
COMING = frozenset({"born", "found"})


@transaction.atomic
def arrive(
    *,
    tank: Tank,
    species: Species,
    count: int,
    by: Membership,
    at: datetime,
    supplier: Supplier | None = None,
    origin: str = "captive",
    certainty: str = "counted",
    note: str = "",
    **said: Unpack[Said],
) -> LivestockMovement:
    """Animals of one species arrived together: a new batch, all of it in this tank."""
    showroom = tank.showroom
    require(by, "record", in_=showroom)
    same_house(showroom, supplier=supplier)
    known = _known(showroom, "arrive", said, batch__species=species, tank_to=tank)
    if known is not None:
        return known
    _is_count(count)
    if species.kingdom != "animal":
        raise Refused("no_animal", f"{species} is a plant.", {"species": "Choose an animal."})
    batch: LivestockBatch = written(
        LivestockBatch(
            showroom=showroom,
            species=species,
            supplier=supplier,
            arrived_on=local_day(showroom, moment_of(at, said)),
            origin=origin,
            note=note,
        )
    )
    return _move(batch, "arrive", count, by, at, said, tank_to=tank, certainty=certainty)


@transaction.atomic
def move(
    *,
    batch: LivestockBatch,
    tank_from: Tank,
    tank_to: Tank,
    count: int,
    by: Membership,
    at: datetime,
    note: str = "",
    **said: Unpack[Said],
) -> LivestockMovement:
    """Some of a batch went to another tank; together they stay as many."""
    require(by, "record", in_=batch.showroom)
    same_house(batch.showroom, tank_from=tank_from, tank_to=tank_to)
    known = _known(batch.showroom, "move", said, batch=batch, tank_from=tank_from)
    if known is not None:
        return known
    if tank_from.pk == tank_to.pk:
        raise Refused("same_tank", "Both are the same tank.", {"tank_to": "Another tank."})
    _are_there(_locked(batch), tank_from, count, moment_of(at, said))
    return _move(
        batch, "move", count, by, at, said, tank_from=tank_from, tank_to=tank_to, note=note
    )


@transaction.atomic
def leave(
    *,
    batch: LivestockBatch,
    tank: Tank,
    count: int,
    by: Membership,
    at: datetime,
    kind: str = "die",
    note: str = "",
    **said: Unpack[Said],
) -> LivestockMovement:
    """Some died; or ``kind`` is ``cull``, ``sold``, ``gift`` or ``missing``.

    Raises
    ------
    Held
        ``more_than_counted``: the fact stands to reason, the count before it does not.
    """
    require(by, "record", in_=batch.showroom)
    same_house(batch.showroom, tank=tank)
    _is_one_of(kind, LEAVING)
    known = _known(batch.showroom, kind, said, batch=batch, tank_from=tank)
    if known is not None:
        return known
    _are_there(_locked(batch), tank, count, moment_of(at, said))
    return _move(batch, kind, count, by, at, said, tank_from=tank, note=note)


def die(*, batch: LivestockBatch, tank: Tank, count: int, **more: Any) -> LivestockMovement:
    """Some died; the rest as :func:`leave`."""
    return leave(batch=batch, tank=tank, count=count, kind="die", **more)


def miss(*, batch: LivestockBatch, tank: Tank, count: int, **more: Any) -> LivestockMovement:
    """Some are missing, which is not a death; the rest as :func:`leave`."""
    return leave(batch=batch, tank=tank, count=count, kind="missing", **more)


@transaction.atomic
def come(
    *,
    batch: LivestockBatch,
    tank: Tank,
    count: int,
    by: Membership,
    at: datetime,
    kind: str = "born",
    certainty: str = "at_least",
    note: str = "",
    **said: Unpack[Said],
) -> LivestockMovement:
    """There are more of a batch: ``born``, or ``found`` again."""
    require(by, "record", in_=batch.showroom)
    same_house(batch.showroom, tank=tank)
    _is_one_of(kind, COMING)
    known = _known(batch.showroom, kind, said, batch=batch, tank_to=tank)
    if known is not None:
        return known
    _is_count(count)
    return _move(batch, kind, count, by, at, said, tank_to=tank, certainty=certainty, note=note)


@transaction.atomic
def recount(
    *,
    batch: LivestockBatch,
    tank: Tank,
    counted: int,
    by: Membership,
    at: datetime,
    certainty: str = "counted",
    note: str = "",
    **said: Unpack[Said],
) -> LivestockMovement:
    """Somebody counted: posts the difference, which is no death. One that agrees posts 0."""
    require(by, "record", in_=batch.showroom)
    same_house(batch.showroom, tank=tank)
    known = _known(batch.showroom, "recount", said, batch=batch)
    if known is not None:
        return known
    _is_count(counted, least=0)
    before = head_count(_locked(batch), tank, moment_of(at, said))
    side = {"tank_to": tank} if counted >= before else {"tank_from": tank}
    return _move(
        batch,
        "recount",
        abs(counted - before),
        by,
        at,
        said,
        certainty=certainty,
        note=note,
        **side,
    )


@transaction.atomic
def split_batch(
    *,
    batch: LivestockBatch,
    tank: Tank,
    count: int,
    by: Membership,
    at: datetime,
    note: str = "",
    **said: Unpack[Said],
) -> LivestockBatch:
    """Some of a batch are a batch of their own from now on; the tank holds as many as before."""
    require(by, "record", in_=batch.showroom)
    same_house(batch.showroom, tank=tank)
    if said.get("action_id") is not None:
        known = _known(batch.showroom, "move", said, tank_to=tank, tank_from=None)
        if known is not None:
            child: LivestockBatch = known.batch
            return child
    batch = _locked(batch)
    _are_there(batch, tank, count, moment_of(at, said))
    made: LivestockBatch = written(
        LivestockBatch(
            showroom=batch.showroom,
            species=batch.species,
            supplier=batch.supplier,
            arrived_on=batch.arrived_on,
            origin=batch.origin,
            note=note,
        )
    )
    _move(batch, "move", count, by, at, said, tank_from=tank, note=note)
    _move(made, "move", count, by, at, said, tank_to=tank, note=note)
    return made


@transaction.atomic
def merge_batches(
    *,
    batch: LivestockBatch,
    into: LivestockBatch,
    tank: Tank,
    by: Membership,
    at: datetime,
    note: str = "",
    **said: Unpack[Said],
) -> int:
    """All of one batch in a tank count to another of the same species; gives how many."""
    require(by, "record", in_=batch.showroom)
    same_house(batch.showroom, into=into, tank=tank)
    if batch.pk == into.pk or batch.species_id != into.species_id:
        raise Refused(
            "other_species",
            "Only two batches of one species can be put together.",
            {"into": "Another batch of the same species."},
        )
    known = _known(batch.showroom, "move", said, batch=batch, tank_from=tank)
    if known is not None:
        return int(known.count)
    for row in sorted((batch, into), key=lambda one: one.pk):
        _locked(row)
    count = head_count(batch, tank)
    if count <= 0:
        return 0
    _move(batch, "move", count, by, at, said, tank_from=tank, note=note)
    _move(into, "move", count, by, at, said, tank_to=tank, note=note)
    return count


@transaction.atomic
def take_back(
    *, movement: LivestockMovement, by: Membership, at: datetime, **said: Unpack[Said]
) -> LivestockMovement:
    """It was a slip: the same animals go back the other way. Both stay."""
    require(by, "record", in_=movement.showroom)
    known: LivestockMovement | None = LivestockMovement.objects.filter(corrects=movement).first()
    if known is not None:
        return known
    if movement.takes_back:
        raise Refused("undo_of_undo", "This entry only takes back another: enter it anew instead.")
    _locked(movement.batch)
    back: LivestockMovement = LivestockMovement.objects.create(
        **columns_of_taking_back(movement, by, at, said),
        batch=movement.batch,
        kind=movement.kind,
        tank_from=movement.tank_to,
        tank_to=movement.tank_from,
        count=movement.count,
        certainty=movement.certainty,
        note="taken back",
    )
    settle_late(back, by, at)
    return back


def _move(
    batch: LivestockBatch,
    kind: str,
    count: int,
    by: Membership,
    at: datetime,
    said: Said,
    **columns: Any,
) -> LivestockMovement:
    row: LivestockMovement = LivestockMovement.objects.create(
        **fact_columns(batch.showroom, by, at, said),
        batch=batch,
        kind=kind,
        count=count,
        **columns,
    )
    settle_late(row, by, at)
    return row


def _locked(batch: LivestockBatch) -> LivestockBatch:
    row: LivestockBatch = (
        LivestockBatch.objects.select_for_update(of=("self",))
        .select_related("showroom", "species")
        .get(pk=batch.pk)
    )
    return row


def _are_there(batch: LivestockBatch, tank: Tank, count: int, moment: datetime) -> None:
    _is_count(count)
    there = head_count(batch, tank, moment)
    if count > there:
        raise Held(
            "more_than_counted",
            f"{count} of {batch.species} were named, but only {max(there, 0)} are counted there.",
            {"count": f"Counted there: {max(there, 0)}."},
            "Count them again first; then enter this anew.",
        )


def _is_count(count: int, least: int = 1) -> None:
    if not least <= count <= MOST:
        raise Refused(
            "out_of_range",
            f"Count: {count} is not allowed.",
            {"count": f"Allowed: {least} to {MOST:,}."},
            "Check the number.",
        )


def _is_one_of(kind: str, kinds: frozenset[str]) -> None:
    if kind not in kinds:
        raise Refused(
            "unknown_word",
            f"{kind!r} is not known.",
            {"kind": f"One of {', '.join(sorted(kinds))}."},
        )


def _known(showroom: Showroom, kind: str, said: Said, **what: Any) -> LivestockMovement | None:
    if said.get("action_id") is None:
        return None
    known: LivestockMovement | None = (
        LivestockMovement.objects.of(showroom)
        .filter(action_id=said["action_id"], kind=kind, corrects=None, **what)
        .first()
    )
    return known
