"""A fleet of any size in a second: many tanks, each with layout, plans, bottle, reading and alert.

For tests that count queries or measure time. Rows are written in bulk, not by the services, so
nothing here checks a rule; whoever tests a rule uses the other builders.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from gallery_ops.kernel.models import Alert, Membership, Showroom
from gallery_ops.kernel.values.codes import new_code
from inventory.models import (
    Container,
    CylinderDetail,
    Forecast,
    Item,
    LivestockBatch,
    LivestockMovement,
    Lot,
    Movement,
    Scale,
    Supply,
    UsePlan,
    UsePlanLine,
    Weighing,
)
from inventory.queries.keys import container_key
from inventory.services import stock_lines
from maintenance.models import Observation, Round
from maintenance.services import due_tasks
from maintenance.services.rounds import ensure_rounds
from tanks.models import (
    Hardscape,
    Layout,
    LayoutVersion,
    Parameter,
    Placement,
    PlantGroup,
    Position,
    Reading,
    Room,
    RoomAirCheck,
    Species,
    Tank,
    TankCode,
    Zone,
)
from tests.maintenance.house import a_house

AT = datetime(2026, 3, 12, 8, 8, tzinfo=UTC)
BEFORE = AT - timedelta(days=100)
ON = date(2026, 3, 12)
A_ROOM_HOLDS = 20


@dataclass(frozen=True, slots=True)
class Fleet:
    """The gallery, its owner, its glasses in walking order, and this morning's round."""

    showroom: Showroom
    owner: Membership
    tanks: list[Tank]
    opening: Round


def a_fleet(count: int, code: str = "undershore", *, with_work: bool = True) -> Fleet:
    """So many planted tanks in rooms of twenty, one zone.

    Each has a code, a place, a layout with two groups, a stone and animals, a dose and a food plan,
    a bottle of its own, a cylinder weighed five times, a reading, a note, a projection and an open
    alert.

    with_work : also today's due tasks and rounds, made by their services
    """
    house = a_house(code, at=BEFORE)
    showroom, owner = house.showroom, house.owner
    places = _places(showroom, count)
    tanks = _tanks(showroom, count)
    TankCode.objects.bulk_create(
        TankCode(showroom=showroom, tank=tank, code=f"T{n:04}", from_at=BEFORE)
        for n, tank in enumerate(tanks, 1)
    )
    Placement.objects.bulk_create(
        Placement(showroom=showroom, tank=tank, position=place, from_at=BEFORE)
        for tank, place in zip(tanks, places, strict=True)
    )
    _layouts(showroom, tanks)
    for item, purpose, base in ((house.fertiliser, "dose", 3000), (house.food, "food", 60)):
        _plans(showroom, owner, tanks, item, purpose, base)
    bottles = _bottles(showroom, owner, tanks, house.fertiliser)
    _cylinders(showroom, owner, tanks)
    _told(showroom, owner, tanks)
    _animals(showroom, owner, tanks)
    _concluded(showroom, bottles)
    stock_lines.refresh(showroom=showroom, at=AT)
    if with_work:
        due_tasks.ensure(showroom=showroom, at=AT)
    rounds = ensure_rounds(showroom=showroom, on=ON, at=AT, kinds=["opening"])
    return Fleet(showroom, owner, tanks, rounds[0])


def _places(showroom: Showroom, count: int) -> list[Position]:
    zone = Zone.objects.create(showroom=showroom, code="A", walking_order=1)
    rooms = Room.objects.bulk_create(
        Room(showroom=showroom, name=f"Room {n:03}", walking_order=n)
        for n in range(1, count // A_ROOM_HOLDS + 2)
    )
    return Position.objects.bulk_create(
        Position(
            showroom=showroom,
            room=rooms[n // A_ROOM_HOLDS],
            zone=zone,
            name=f"place {n}",
            walking_order=n,
        )
        for n in range(count)
    )


def _tanks(showroom: Showroom, count: int) -> list[Tank]:
    return Tank.objects.bulk_create(
        Tank(showroom=showroom, length_mm=600, width_mm=300, height_mm=360, glass_mm=6)
        for _ in range(count)
    )


def _layouts(showroom: Showroom, tanks: list[Tank]) -> None:
    layouts = Layout.objects.bulk_create(
        Layout(
            showroom=showroom,
            tank=tank,
            title=f"Layout {n}",
            stage="show",
            flooded_on=date(2025, 9, 1),
            from_at=BEFORE,
        )
        for n, tank in enumerate(tanks, 1)
    )
    species, _made = Species.objects.get_or_create(
        scientific_name="Rotala rotundifolia", defaults={"kingdom": "plant"}
    )
    groups = PlantGroup.objects.bulk_create(
        PlantGroup(
            showroom=showroom,
            layout=layout,
            number=number,
            place=place,
            centre_permille=300 * number,
            height_mm=90 * number,
            fixing="planted",
            leaf_colour="light_green",
            from_at=BEFORE,
        )
        for layout in layouts
        for number, place in ((1, "foreground"), (2, "background"))
    )
    named = PlantGroup.species.through
    named.objects.bulk_create(named(plantgroup_id=g.pk, species_id=species.pk) for g in groups)
    Hardscape.objects.bulk_create(
        Hardscape(showroom=showroom, layout=layout, kind="stone", name="stone", from_at=BEFORE)
        for layout in layouts
    )
    LayoutVersion.objects.bulk_create(
        LayoutVersion(showroom=showroom, layout=layout, from_at=BEFORE) for layout in layouts
    )


def _plans(
    showroom: Showroom, owner: Membership, tanks: list[Tank], item: Item, purpose: str, base: int
) -> None:
    plans = UsePlan.objects.bulk_create(
        UsePlan(
            showroom=showroom,
            tank=tank,
            item=item,
            purpose=purpose,
            version=1,
            from_on=BEFORE.date(),
            made_by=owner.person,
            made_at=BEFORE,
        )
        for tank in tanks
    )
    UsePlanLine.objects.bulk_create(
        UsePlanLine(showroom=showroom, plan=plan, from_on=BEFORE.date(), amount_base=base)
        for plan in plans
    )


def _bottles(
    showroom: Showroom, owner: Membership, tanks: list[Tank], item: Item
) -> list[Container]:
    lot = Lot.objects.create(showroom=showroom, item=item, received_on=BEFORE.date())
    bottles = Container.objects.bulk_create(
        Container(
            showroom=showroom,
            code=new_code(),
            item=item,
            lot=lot,
            kind="bottle",
            capacity_base=500_000,
            press_nominal_ul=1000,
            opened_on=BEFORE.date(),
        )
        for _ in tanks
    )
    Movement.objects.bulk_create(
        Movement(item=item, lot=lot, container=bottle, kind="receipt", amount_base=400_000, **said)
        for bottle, said in ((bottle, _said(showroom, owner)) for bottle in bottles)
    )
    Supply.objects.bulk_create(
        Supply(
            showroom=showroom,
            item=item,
            purpose="dose",
            container=bottle,
            tank=tank,
            from_at=BEFORE,
        )
        for tank, bottle in zip(tanks, bottles, strict=True)
    )
    return bottles


def _cylinders(showroom: Showroom, owner: Membership, tanks: list[Tank]) -> None:
    """A cylinder under each tank, weighed every fortnight; every second room is measured."""
    gas = Item.objects.create(
        showroom=showroom, code="co2", name="CO2", kind="gas", dimension="mass"
    )
    scale = Scale.objects.create(showroom=showroom, name="floor scale")
    lot = Lot.objects.create(showroom=showroom, item=gas, received_on=BEFORE.date())
    cylinders = Container.objects.bulk_create(
        Container(
            showroom=showroom,
            code=new_code(),
            item=gas,
            lot=lot,
            kind="cylinder",
            capacity_base=2_000_000,
            tare_mg=3_120_000,
            opened_on=BEFORE.date(),
        )
        for _ in tanks
    )
    CylinderDetail.objects.bulk_create(
        CylinderDetail(showroom=showroom, container=one, serial=f"K-{n:04}", fill_mg=2_000_000)
        for n, one in enumerate(cylinders, 1)
    )
    Movement.objects.bulk_create(
        Movement(
            item=gas,
            lot=lot,
            container=one,
            kind="receipt",
            amount_base=2_000_000,
            **_said(showroom, owner, 99),
        )
        for one in cylinders
    )
    Supply.objects.bulk_create(
        Supply(
            showroom=showroom,
            item=gas,
            purpose="gas",
            container=one,
            tank=tank,
            from_at=BEFORE,
        )
        for tank, one in zip(tanks, cylinders, strict=True)
    )
    _plans(showroom, owner, tanks, gas, "gas", 6_000)
    Weighing.objects.bulk_create(
        Weighing(
            container=one,
            scale=scale,
            gross_mg=5_120_000 - 6_000 * (90 - days),
            tare_mg=3_120_000,
            net_base=2_000_000 - 6_000 * (90 - days),
            expected_base=2_000_000 - 6_000 * (90 - days),
            **_said(showroom, owner, days),
        )
        for one in cylinders
        for days in (90, 76, 62, 48, 34)
    )
    rooms = list(Room.objects.filter(showroom=showroom).order_by("pk"))
    Room.objects.filter(pk__in=[room.pk for room in rooms[::2]]).update(
        volume_m3=148, has_gas_alarm=True
    )
    RoomAirCheck.objects.bulk_create(
        RoomAirCheck(room=room, co2_ppm=520, **_said(showroom, owner, 1)) for room in rooms
    )


def _told(showroom: Showroom, owner: Membership, tanks: list[Tank]) -> None:
    """A temperature and a note each."""
    parameter, _made = Parameter.objects.get_or_create(
        key="temperature", defaults={"name": "temperature", "unit": "Cel"}
    )
    Reading.objects.bulk_create(
        Reading(tank=tank, parameter=parameter, value=24.1, **_said(showroom, owner))
        for tank in tanks
    )
    Observation.objects.bulk_create(
        Observation(tank=tank, kind="note", text="Trimmed.", **_said(showroom, owner, 2))
        for tank in tanks
    )


def _animals(showroom: Showroom, owner: Membership, tanks: list[Tank]) -> None:
    species, _made = Species.objects.get_or_create(
        scientific_name="Neocaridina davidi", defaults={"kingdom": "animal"}
    )
    batches = LivestockBatch.objects.bulk_create(
        LivestockBatch(showroom=showroom, species=species, arrived_on=BEFORE.date()) for _ in tanks
    )
    LivestockMovement.objects.bulk_create(
        LivestockMovement(
            batch=batch, tank_to=tank, count=12, kind="arrive", **_said(showroom, owner)
        )
        for tank, batch in zip(tanks, batches, strict=True)
    )


def _concluded(showroom: Showroom, bottles: list[Container]) -> None:
    """A projection and an alert for each bottle."""
    Forecast.objects.bulk_create(
        Forecast(
            showroom=showroom,
            container=bottle,
            item=bottle.item,
            as_of_on=ON,
            made_at=AT,
            engine="test",
            digest="0" * 64,
            level_base=400_000,
            plan_base_per_day=3000,
            quantiles_days=[100.0] * 19,
            because=[{"what": "plan"}],
        )
        for bottle in bottles
    )
    Alert.objects.bulk_create(
        Alert(
            showroom=showroom,
            kind="reorder",
            cause_key=f"reorder:{container_key(bottle.pk)}",
            harm_class="B",
            subject_kind="container",
            subject_key=container_key(bottle.pk),
            sentence="Order soon.",
            opened_at=AT,
            seen_again_at=AT,
        )
        for bottle in bottles
    )


def _said(showroom: Showroom, owner: Membership, days: int = 90) -> dict[str, object]:
    moment = AT - timedelta(days=days)
    return {
        "showroom": showroom,
        "person": owner.person,
        "done_at": moment,
        "done_at_corrected": moment,
        "entered_at": moment,
    }
