"""Who lives in this tank, may more come, and where may some go?"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Held, Refused, Unknown
from gallery_ops.kernel.models import Membership, Showroom
from gallery_ops.overview.gates import records_of
from inventory.models import LivestockBatch, LivestockMovement, Supplier
from inventory.queries.livestock import Head, heads, last_arrival
from inventory.queries.suppliers import suppliers
from inventory.services.stocking import (
    NOT_YET,
    bring_in,
    count_again,
    let_go,
    settles_for,
    take_across,
)
from tanks.models import Species, Stage
from tanks.queries.gates import Standing, standing
from tanks.queries.layouts import animals_known
from tanks.queries.tanks import TankNow, fleet, tank_by_code
from tanks.services.catalogue import name_animal

SHOWN = 12
WAYS = {"sold": "sold", "gift": "gift", "die": "die", "cull": "cull", "missing": "missing"}


@dataclass(frozen=True, slots=True)
class Living:
    """Heads of one batch, since when they are known and from whom."""

    head: Head
    uid: UUID
    arrived_on: date
    supplier: str


@dataclass(frozen=True, slots=True)
class AnimalsPage:
    """The tank, its animals, what stands before more of them, and what came and went last.

    gate : gate G6 with its proofs, None once it was passed; settles : days to leave it alone.
    """

    now: TankNow
    living: list[Living]
    gate: Standing | None
    settles: int
    came_at: datetime | None
    lately: list[LivestockMovement]
    species: list[Species]
    suppliers: list[Supplier]
    others: list[TankNow]

    @property
    def count(self) -> int:
        """Heads of all batches."""
        return sum(row.head.count for row in self.living)

    @property
    def is_before_gate(self) -> bool:
        """No animal may come yet."""
        return self.now.layout is not None and self.now.layout.stage in NOT_YET

    @property
    def missing(self) -> int:
        """Proofs that gate G6 still lacks."""
        return len(self.gate.lines) - self.gate.shown if self.gate else 0

    @property
    def may_come(self) -> bool:
        """Is the form of an arrival of any use here?"""
        layout = self.now.layout
        is_closed = layout is not None and layout.stage == Stage.TEARDOWN
        return self.now.tank.retired_at is None and not self.is_before_gate and not is_closed


def animals_page(showroom: Showroom, code: str, at: datetime) -> AnimalsPage:
    """The animals of the tank that is called so. Raises Unknown."""
    now = tank_by_code(showroom, code, at)
    tank, layout = now.tank, now.layout
    here = heads(showroom, at, tank_ids=[tank.pk])
    batches = LivestockBatch.objects.select_related("supplier").in_bulk(h.batch_id for h in here)
    gate = None
    if layout is not None and layout.stage == Stage.START_UP:
        gate = standing(tank, layout, records_of(now, at))[0]
    return AnimalsPage(
        now=now,
        living=[
            Living(head, b.uid, b.arrived_on, b.supplier.name if b.supplier else "")
            for head in here
            for b in (batches[head.batch_id],)
        ],
        gate=gate,
        settles=settles_for(tank, layout, at),
        came_at=last_arrival(tank, layout.from_at) if layout else None,
        lately=_lately(now, at),
        species=animals_known(),
        suppliers=suppliers(showroom),
        others=[one for one in fleet(showroom, at) if one.tank.pk != tank.pk],
    )


def animals_came(
    *, by: Membership, code: str, at: datetime, typed: Mapping[str, str], count: int, seen: int
) -> LivestockMovement:
    """Animals came from outside; ``typed`` holds species, supplier, origin and words."""
    page = animals_page(by.showroom, code, at)
    return bring_in(
        tank=page.now.tank,
        species=_species(page, by, typed),
        count=count,
        by=by,
        at=at,
        seen=seen,
        supplier=_one(page.suppliers, "uid", typed.get("supplier", ""), "supplier"),
        origin="wild" if typed.get("origin") == "wild" else "captive",
        note=typed.get("note", "").strip()[:200],
        really=bool(typed.get("really")),
        reason=typed.get("reason", "").strip()[:200],
    )


def animals_went(
    *, by: Membership, code: str, at: datetime, typed: Mapping[str, str], count: int, seen: int
) -> LivestockMovement:
    """Some of a batch went elsewhere, died, or were counted again, as ``typed["how"]`` says."""
    page = animals_page(by.showroom, code, at)
    living = next((row for row in page.living if str(row.uid) == typed.get("batch")), None)
    if living is None:
        raise Refused(
            "no_such_animals",
            _("Which animals? Those are not counted here."),
            {"batch": _("Choose one of the lines above.")},
        )
    batch = LivestockBatch.objects.get(pk=living.head.batch_id)
    tank, note, how = page.now.tank, typed.get("note", "").strip()[:200], typed.get("how", "")
    if how == "again":
        return count_again(
            batch=batch, tank=tank, counted=count, by=by, at=at, seen=seen, note=note
        )
    if how == "across":
        goes = next((one for one in page.others if one.code == typed.get("into")), None)
        if goes is None:
            raise Refused(
                "no_other_tank",
                _("Into which tank do they go?"),
                {"into": _("Choose one of the tanks that stand.")},
            )
        return _held_in_words(
            lambda: take_across(
                batch=batch,
                tank_from=tank,
                tank_to=goes.tank,
                count=count,
                by=by,
                at=at,
                seen=seen,
                note=note,
                really=bool(typed.get("really")),
                reason=typed.get("reason", "").strip()[:200],
            )
        )
    if how not in WAYS:
        raise Refused("no_way", _("What became of them?"), {"how": _("Choose one of the list.")})
    return _held_in_words(
        lambda: let_go(
            batch=batch, tank=tank, count=count, kind=how, by=by, at=at, seen=seen, note=note
        )
    )


def _held_in_words(write: Callable[[], LivestockMovement]) -> LivestockMovement:
    try:
        return write()
    except Held as held:
        raise Refused(held.code, held.sentence, held.fields, held.remedy) from held


def _species(page: AnimalsPage, by: Membership, typed: Mapping[str, str]) -> Species:
    wanted, fresh = typed.get("species", ""), typed.get("scientific", "").strip()
    if fresh:
        return name_animal(
            scientific_name=fresh, vernacular_name=typed.get("common", "").strip(), by=by
        )
    found = next((one for one in page.species if str(one.pk) == wanted), None)
    if found is None:
        raise Refused(
            "no_species",
            _("Which animals came?"),
            {"species": _("Choose a species, or write its scientific name.")},
        )
    return found


def _one(rows: list[Supplier], field: str, wanted: str, what: str) -> Supplier | None:
    if not wanted:
        return None
    found = next((row for row in rows if str(getattr(row, field)) == wanted), None)
    if found is None:
        raise Unknown(what)
    return found


def _lately(now: TankNow, at: datetime) -> list[LivestockMovement]:
    rows = LivestockMovement.objects.standing().filter(done_at_corrected__lte=at)
    either = rows.filter(tank_to=now.tank) | rows.filter(tank_from=now.tank)
    return list(
        either.select_related("batch__species", "person").order_by("-done_at_corrected", "-pk")[
            :SHOWN
        ]
    )
