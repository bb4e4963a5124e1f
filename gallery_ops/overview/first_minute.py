"""What do the emergency cards show, and to whom?

The cards are for everybody who stands in the gallery and hold nothing private. Telephone numbers of
people, who is at work and what hangs in which room are for staff.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.queries.people import showrooms
from gallery_ops.kernel.rights import may
from gallery_ops.kernel.values.day import business_day
from gallery_ops.overview.who import Who
from inventory.models import ContainerKind, Supply, SupplyPurpose
from maintenance.queries import cards as catalogue
from maintenance.queries.rota import OnShift, who_is_here
from maintenance.schedule.cards import Card, filled
from tanks.queries.tanks import TankNow, fleet

MG_PER_KG = 1_000_000


@dataclass(frozen=True, slots=True)
class Telephone:
    """A number to ring. dial : what a telephone dials."""

    name: str
    number: str
    what: str = ""

    @property
    def dial(self) -> str:
        """The number without what is only for the eye."""
        return "".join(mark for mark in self.number if mark.isdigit() or mark == "+")


@dataclass(frozen=True, slots=True)
class Hanging:
    """Cylinders in one room: how many of which filling, and at which tanks."""

    room: str
    count: int
    fill: str
    tanks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FirstMinute:
    """Everything around the cards for one asker; lists of people are empty for a visitor."""

    cards: tuple[Card, ...]
    emergency: Telephone
    gallery: str
    address: str
    telephones: tuple[Telephone, ...] = ()
    at_work: tuple[OnShift, ...] = ()
    hanging: tuple[Hanging, ...] = ()


def first_minute(who: Who, at: datetime, *, with_cylinders: bool = False) -> FirstMinute:
    """The cards in the asker's language with the number of the gallery's country in them."""
    showroom = who.showroom or _only_showroom()
    language = (who.person.language if who.person else "") or (
        showroom.language if showroom else ""
    )
    number = catalogue.emergency_number(showroom.country) if showroom else ""
    is_staff = showroom is not None and may(who.membership, "read", in_=showroom, at=at)
    return FirstMinute(
        cards=tuple(
            _with_number(card, number)
            for card in catalogue.cards(language or get_language() or "en")
        ),
        emergency=Telephone(_("Fire, ambulance"), number),
        gallery=", ".join(part for part in (showroom.name, showroom.place) if part)
        if showroom
        else "",
        address=showroom.address if showroom else "",
        telephones=telephones(showroom, number) if showroom and is_staff else (),
        at_work=_at_work(showroom, at) if showroom and is_staff else (),
        hanging=tuple(hanging(showroom, at)) if showroom and is_staff and with_cylinders else (),
    )


def telephones(showroom: Showroom, emergency: str) -> tuple[Telephone, ...]:
    """The gallery's own list, without the emergency number, which stands first by itself."""
    listed = (_telephone(row) for row in showroom.telephones if isinstance(row, Mapping))
    return tuple(row for row in listed if row.dial and row.dial != emergency)


def hanging(
    showroom: Showroom, at: datetime, tanks: Sequence[TankNow] | None = None
) -> list[Hanging]:
    """What hangs in which room, for the crew that asks on the telephone. 6 queries.

    tanks : the fleet, where it was read before; then one query.
    """
    rows = {row.tank.pk: row for row in (fleet(showroom, at) if tanks is None else tanks)}
    open_ones = (
        Supply.objects.of(showroom)
        .at(at)
        .filter(
            purpose=SupplyPurpose.GAS,
            container__kind=ContainerKind.CYLINDER,
            container__finished_on=None,
            container__voided_at=None,
            tank__isnull=False,
        )
        .select_related("container__cylinder", "tank")
        .order_by("pk")
    )
    found: dict[tuple[str, str], dict[int, list[str]]] = defaultdict(lambda: defaultdict(list))
    for supply in open_ones:
        tank = rows.get(supply.tank_id)
        if tank is not None:
            fill = _fill(supply)
            found[tank.room_name, fill][supply.container_id].append(tank.code)
    order = {row.room_name: number for number, row in reversed(list(enumerate(rows.values())))}
    return [
        Hanging(
            room, len(cylinders), fill, tuple(sorted({c for t in cylinders.values() for c in t}))
        )
        for (room, fill), cylinders in sorted(
            found.items(), key=lambda one: (order[one[0][0]], one[0])
        )
    ]


def pack_cards(showroom: Showroom, language: str) -> list[dict[str, object]]:
    """The cards as a tablet keeps them for when there is no network."""
    number = catalogue.emergency_number(showroom.country)
    address = ", ".join(part for part in (showroom.name, showroom.address) if part)
    return [
        {
            "code": card.key,
            "title": card.name,
            "first": " ".join(part for part in (card.sign, card.first, card.then) if part),
            "language": card.language,
            "lines": [line.text for line in _with_number(card, number).lines],
            "address": address,
            "tile": card.is_tile,
            "people": card.is_people,
            "say": card.say,
            "cannot": card.cannot,
            "afterwards": list(card.afterwards),
            "stops": card.stops,
            "released": card.is_released,
            "counts": next((n for n, one in enumerate(card.lines, 1) if one.counts_people), None),
            "leads": {str(n): one.card for n, one in enumerate(card.lines, 1) if one.card},
        }
        for card in catalogue.cards(language)
    ]


def _only_showroom() -> Showroom | None:
    """The gallery, when this house has one only: then its country and address are no secret."""
    found = list(showrooms()[:2])
    return found[0] if len(found) == 1 else None


def _at_work(showroom: Showroom, at: datetime) -> tuple[OnShift, ...]:
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    return tuple(who_is_here(showroom, today, at))


def _with_number(card: Card, number: str) -> Card:
    shown = number or _("the emergency number")
    lines = tuple(replace(line, text=filled(line.text, shown)) for line in card.lines)
    return replace(card, lines=lines)


def _telephone(row: Mapping[str, object]) -> Telephone:
    name, number, what = (str(row.get(key, "")) for key in ("name", "number", "what"))
    return Telephone(name, number, what)


def _fill(supply: Supply) -> str:
    detail = getattr(supply.container, "cylinder", None)
    if detail is None:
        return ""
    return f"{detail.fill_mg / MG_PER_KG:g} kg"
