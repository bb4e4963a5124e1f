"""What can be weighed, in which order, and what does a scale show for each?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import OuterRef, Subquery

from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.codes import parse_code
from gallery_ops.kernel.values.limits import OutOfRange
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container, Scale, Supply, Weighing
from inventory.services.weighing import mass_of
from tanks.queries.tanks import fleet


@dataclass(frozen=True, slots=True)
class ToWeigh:
    """One container with what is known of it."""

    container: Container
    name: str
    last: Weighing | None
    regulator: Mass | None
    tare: Mass | None

    @property
    def last_gross(self) -> Mass | None:
        """What the scale showed last time."""
        return Mass(self.last.gross_mg) if self.last is not None else None

    @property
    def least(self) -> Mass | None:
        """What the scale shows when it is empty, with the regulator if it has one."""
        if self.tare is None:
            return None
        return self.tare + self.regulator if self.regulator else self.tare

    @property
    def most(self) -> Mass | None:
        """What the scale shows when it is full."""
        if self.least is None:
            return None
        return self.least + mass_of(self.container, self.container.capacity_base)


def to_weigh(showroom: Showroom, at: datetime) -> list[ToWeigh]:
    """Everything that is in use and has a mass, longest not weighed first; constant queries."""
    rows = list(
        Container.objects.of(showroom)
        .filter(voided_at=None, finished_on=None)
        .exclude(item__dimension="piece")
        .select_related("item", "cylinder")
    )
    last = _last(showroom, [row.pk for row in rows])
    names = _names(showroom, at)
    found = [_one(row, last.get(row.pk), names) for row in rows]
    return sorted(
        found,
        key=lambda one: (one.last is not None, one.last.done_at_corrected if one.last else at),
    )


def weighing_of(showroom: Showroom, code: str, at: datetime) -> ToWeigh:
    """One container by its code. Raises Unknown."""
    try:
        wanted = parse_code(code)
    except OutOfRange:
        wanted = code
    row = (
        Container.objects.of(showroom)
        .filter(code=wanted, voided_at=None)
        .select_related("item", "cylinder", "showroom")
        .first()
    )
    if row is None:
        raise Unknown("container")
    return _one(row, _last(showroom, [row.pk]).get(row.pk), _names(showroom, at))


def scales(showroom: Showroom) -> list[Scale]:
    """The scales of the house."""
    return list(Scale.objects.of(showroom).filter(voided_at=None).order_by("pk"))


def _last(showroom: Showroom, keys: list[int]) -> dict[int, Weighing]:
    """The newest standing weighing of each container, one row a container; one query."""
    newest = (
        Weighing.objects.standing()
        .filter(container=OuterRef("pk"))
        .order_by("-done_at_corrected", "-pk")
        .values("pk")[:1]
    )
    wanted = Container.objects.of(showroom).filter(pk__in=keys).values(newest=Subquery(newest))
    rows = Weighing.objects.filter(pk__in=wanted).select_related("person", "scale")
    return {row.container_id: row for row in rows}


def _names(showroom: Showroom, at: datetime) -> dict[int, str]:
    """Container -> the tank that it feeds alone."""
    codes = {row.tank.pk: row.code for row in fleet(showroom, at)}
    rows = Supply.objects.of(showroom).still().filter(tank__isnull=False)
    return {c: codes[t] for c, t in rows.values_list("container_id", "tank_id") if t in codes}


def _one(row: Container, last: Weighing | None, names: dict[int, str]) -> ToWeigh:
    detail = getattr(row, "cylinder", None) if row.kind == "cylinder" else None
    tank = names.get(row.pk, "")
    return ToWeigh(
        container=row,
        name=f"{row.get_kind_display().capitalize()} {tank}".strip() if tank else str(row),
        last=last,
        regulator=Mass(detail.regulator_mg) if detail and detail.regulator_mg else None,
        tare=Mass(row.tare_mg) if row.tare_mg is not None else None,
    )
