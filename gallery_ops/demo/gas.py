"""What is written at Undershore of gas beyond its use: rooms measured, alarms read, the store."""

from __future__ import annotations

from datetime import date, time, timedelta

from gallery_ops.demo.house import House
from gallery_ops.demo.stock import Stock, new_cylinder, weigh
from gallery_ops.kernel.values.quantity import Mass
from inventory.models import Container
from inventory.services.cylinder_care import correct_cylinder, mark_empty
from inventory.services.cylinders import add_cylinder
from tanks.services.rooms import check_room_air, measure_room

SPARES_G = (2_000, 500)
OLD_TEST_TANK = "T15"
"""Its stamp is nearly ten years old, so it is tested before it is filled again."""
READ = (("Stair Hall", 520), ("Long Room", 560), ("North Room", 610), ("Deep Room", 640))
"""What the room alarms showed last evening [ppm]."""


def tell(house: House, stock: Stock) -> None:
    """Rooms, alarms, one old stamp, two full ones and an empty one in the store."""
    _rooms(house)
    _old_stamp(house, stock)
    _store(house, stock)


def _rooms(house: House) -> None:
    boss, carer = house.people["maud"], house.people["odile"]
    for number, (name, ppm) in enumerate(READ):
        room = house.rooms[name]
        measure_room(
            room=room,
            volume_m3=room.volume_m3 or 1,
            measured_by=boss.person.name,
            measured_on=house.on - timedelta(days=730),
            has_gas_alarm=True,
            by=boss,
            at=house.at(60, time(9)),
        )
        tested = house.at(10, time(9, 10 + 4 * number))
        check_room_air(room=room, co2_ppm=ppm - 60, is_test=True, rang=True, by=carer, at=tested)
        check_room_air(room=room, co2_ppm=ppm, by=carer, at=house.at(1, time(17, 40 + number)))


def _old_stamp(house: House, stock: Stock) -> None:
    one = Container.objects.select_related("cylinder").get(pk=stock.cylinders[OLD_TEST_TANK].pk)
    year = house.on.year
    correct_cylinder(
        container=one,
        serial=one.cylinder.serial,
        tare=Mass(one.tare_mg or 0),
        fill=Mass(one.cylinder.fill_mg),
        regulator=Mass(one.cylinder.regulator_mg or 0),
        tested_on=date(year - 10, 5, 1),
        next_test_on=date(year, 5, 1),
        test_rule="typed",
        stamp=f"{year - 10}/05",
        is_exchange=one.cylinder.is_exchange,
        held_by=one.cylinder.held_by,
        name=one.name,
        by=house.people["maud"],
        at=house.at(40, time(10)),
    )


def _store(house: House, stock: Stock) -> None:
    boss, came = house.people["iskra"], house.at(15, time(11, 30))
    for grams in SPARES_G:
        spare = _came(house, stock, grams, None)
        weigh(house, stock, spare, 15, time(12), None)
    mark_empty(container=_came(house, stock, 2_000, 14), by=boss, at=came + timedelta(minutes=5))


def _came(house: House, stock: Stock, grams: int, left: int | None) -> Container:
    new = new_cylinder(house, stock, grams, left, regulator=False)
    one = add_cylinder(
        item=stock.gas,
        cylinder=new,
        supplier=stock.gas_trade,
        by=house.people["iskra"],
        at=house.at(15, time(11, 30)),
    )
    stock.truth[one.pk] = (grams if left is None else left) * 1_000.0
    return one
