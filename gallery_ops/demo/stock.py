"""What Undershore keeps in stock, and what is really in each container, which only we know.

The books are written by the services; beside them runs the truth: pumps that give a little more or
less than planned, valves that drift. A weighing shows the truth with the noise of a scale.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time, timedelta
from typing import Any

from gallery_ops.demo.house import House
from gallery_ops.demo.luck import Luck
from gallery_ops.demo.shoulders import read_off
from gallery_ops.kernel.values.quantity import Mass, Volume
from inventory.models import Container, Item, Scale, Supplier
from inventory.services import containers, cylinders, items, plans, supplies, weighing
from inventory.services.scales import check_scale

HISTORY_DAYS = 90
CAN_UL = 5_000_000
BOTTLE_UL = 1_000_000
DENSITY = 1050
CHANGE_AT = 0.06
"""A cylinder is exchanged when about this share of its fill is left."""


@dataclass(slots=True)
class Stock:
    """The books' rows and the truth about them, in base units."""

    fertiliser: Item
    gas: Item
    food: Item
    trade: Supplier
    gas_trade: Supplier
    bench: Scale
    floor_scale: Scale
    bottles: dict[str, Container] = field(default_factory=dict)
    cans: list[Container] = field(default_factory=list)
    tub: Container | None = None
    cylinders: dict[str, Container] = field(default_factory=dict)
    truth: dict[int, float] = field(default_factory=dict)
    factor: dict[str, float] = field(default_factory=dict)
    serials: int = 4100


def open_books(house: House, luck: Luck) -> Stock:
    """Items, suppliers, containers, plans and cylinders as they stood ninety days ago."""
    stock = _items(house)
    for code in house.fleet:
        stock.factor[code] = luck.of("valve", code).uniform(0.96, 1.04)
    _fertiliser(house, stock)
    _plans(house, stock)
    for code, row in house.fleet.items():
        if int(row["cyl_g"]):
            _cylinder(house, stock, code, int(row["cyl_g"]))
    stock.tub = receive_tub(house, stock, 100, HISTORY_DAYS, left=25)
    for scale, known, showed in (
        (stock.bench, Mass.g(2000), Mass.g(2001)),
        (stock.floor_scale, Mass.kg(20), Mass.g(20_005)),
    ):
        check_scale(
            scale=scale,
            known=known,
            showed=showed,
            by=house.people["maud"],
            at=house.at(10, time(9)),
        )
    return stock


def _items(house: House) -> Stock:
    boss, at = house.people["maud"], house.at(HISTORY_DAYS + 30)
    showroom = house.showroom
    trade = items.add_supplier(
        showroom=showroom,
        name="Brackwater Trade",
        delivery_weekdays="0100100",
        cut_off_at=time(14),
        stated_lead_days=7,
        by=boss,
        at=at,
    )
    gas_trade = items.add_supplier(
        showroom=showroom,
        name="Quayhead Gas",
        delivery_weekdays="0010000",
        cut_off_at=time(12),
        stated_lead_days=5,
        is_exchange=True,
        by=boss,
        at=at,
    )
    fertiliser = items.add_item(
        showroom=showroom,
        code="fertiliser",
        name="Complete fertiliser",
        kind="fertiliser",
        dimension="volume",
        density_mg_per_ml=DENSITY,
        opened_life_days=365,
        unusable_base=5_000,
        full_dose_ul_per_l=50,
        count_class="A",
        harm_class="B",
        by=boss,
        at=at,
    )
    gas = items.add_item(
        showroom=showroom,
        code="co2",
        name="CO2",
        kind="gas",
        dimension="mass",
        count_class="A",
        harm_class="B",
        by=boss,
        at=at,
    )
    food = items.add_item(
        showroom=showroom,
        code="fine-granules",
        name="Fine granules",
        kind="food",
        dimension="mass",
        opened_life_days=28,
        count_class="A",
        harm_class="A",
        by=boss,
        at=at,
    )
    for item, supplier, pack, cents in (
        (fertiliser, trade, Volume.l(5), 6_450),
        (food, trade, Mass.g(100), 890),
        (food, trade, Mass.g(250), 1_690),
    ):
        items.add_supplier_item(
            supplier=supplier,
            item=item,
            pack=pack,
            price_cents=cents,
            is_preferred=pack.base != 250_000,
            by=boss,
            at=at,
        )
    for grams, cents in ((500, 1_450), (2_000, 3_200), (5_000, 5_900), (10_000, 9_800)):
        items.add_supplier_item(
            supplier=gas_trade, item=gas, pack=Mass.g(grams), price_cents=cents, by=boss, at=at
        )
    return Stock(
        fertiliser=fertiliser,
        gas=gas,
        food=food,
        trade=trade,
        gas_trade=gas_trade,
        bench=items.add_scale(
            showroom=showroom,
            name="bench scale",
            noise_sd=Mass.g("0.5"),
            resolution=Mass.g(1),
            most=Mass.g(6000),
            by=boss,
            at=at,
        ),
        floor_scale=items.add_scale(
            showroom=showroom,
            name="floor scale",
            noise_sd=Mass.g(2),
            resolution=Mass.g(5),
            most=Mass.g(60000),
            by=boss,
            at=at,
        ),
    )


def _fertiliser(house: House, stock: Stock) -> None:
    boss, moment = house.people["maud"], house.at(HISTORY_DAYS, time(5))
    bottles = containers.receive(
        item=stock.fertiliser,
        containers=[
            containers.NewContainer(
                kind="bottle",
                capacity=Volume(BOTTLE_UL),
                content=Volume.ml(content),
                tare=Mass.g(92),
                name=f"Bottle of zone {zone}",
                unusable=Volume.ml(5),
                press_nominal_ul=1_000,
            )
            for zone, content in (("A", 800), ("B", 950))
        ],
        supplier=stock.trade,
        maker_lot="BT-2291",
        by=boss,
        at=moment,
    )
    for zone, bottle in zip("AB", bottles, strict=True):
        supplies.connect_supply(
            container=bottle, purpose="dose", zone=house.zones[zone], by=boss, at=moment
        )
        stock.bottles[zone] = bottle
        stock.truth[bottle.pk] = 800_000.0 if zone == "A" else 950_000.0
    receive_can(house, stock, HISTORY_DAYS, Volume.l(3))


def receive_can(house: House, stock: Stock, days_ago: int, content: Volume | None = None) -> None:
    """A 5 L can comes, full or with what is left in it."""
    at = house.at(days_ago, time(11, 20) if days_ago < HISTORY_DAYS else time(5))
    amount = content or Volume(CAN_UL)
    (can,) = containers.receive(
        item=stock.fertiliser,
        containers=[
            containers.NewContainer(
                kind="can",
                capacity=Volume(CAN_UL),
                content=amount,
                tare=Mass.g(210),
                name=f"Can of {house.on - timedelta(days=days_ago):%d %b}",
                unusable=Volume.ml(20),
            )
        ],
        supplier=stock.trade,
        maker_lot=f"BT-{2300 + days_ago}",
        expires_on=house.on + timedelta(days=700 - days_ago),
        by=house.people["iskra"],
        at=at,
    )
    stock.cans.append(can)
    stock.truth[can.pk] = float(amount.base)


def receive_tub(
    house: House, stock: Stock, grams: int, days_ago: int, left: int | None = None
) -> Container:
    """A tub of food comes, full or with what is left in it [g], and is opened for both zones."""
    moment = house.at(days_ago, time(6))
    boss = house.people["iskra"]
    (tub,) = containers.receive(
        item=stock.food,
        containers=[
            containers.NewContainer(
                kind="tub",
                capacity=Mass.g(grams),
                content=Mass.g(left) if left else None,
                tare=Mass.g(28),
                name=f"Tub of {grams} g",
            )
        ],
        supplier=stock.trade,
        by=boss,
        at=moment,
    )
    for zone in house.zones.values():
        supplies.connect_supply(container=tub, purpose="food", zone=zone, by=boss, at=moment)
    stock.truth[tub.pk] = (left or grams) * 1_000.0
    return tub


def new_cylinder(
    house: House, stock: Stock, grams: int, left: int | None = None, **where: Any
) -> cylinders.NewCylinder:
    """A cylinder of that size with a serial, tare and stamp of its own; full, or so much [g]."""
    stock.serials += 7
    return read_off(house.on, stock.serials, grams, left, **where)


SHARE_LEFT = {
    "T01": 0.30, "T02": 0.71, "T03": 1.0, "T05": 0.34, "T06": 0.83, "T07": 0.95, "T08": 0.60,
    "T10": 0.30, "T11": 0.22, "T12": 0.58, "T13": 0.93, "T14": 0.88, "T15": 0.21, "T16": 0.53,
    "T17": 0.96, "T18": 0.62, "T19": 0.28, "T20": 0.92,
}  # fmt: skip
"""How full each cylinder was ninety days ago, so that six of them are exchanged since."""


def _cylinder(house: House, stock: Stock, code: str, grams: int) -> None:
    boss, moment = house.people["maud"], house.at(HISTORY_DAYS, time(5))
    tank = house.tanks[code]
    left = round(grams * SHARE_LEFT[code])
    cylinder = cylinders.add_cylinder(
        item=stock.gas,
        cylinder=new_cylinder(house, stock, grams, left),
        supplier=stock.gas_trade,
        tank=tank,
        by=boss,
        at=moment,
    )
    stock.cylinders[code] = cylinder
    stock.truth[cylinder.pk] = left * 1_000.0
    weigh(house, stock, cylinder, HISTORY_DAYS, time(5, 30), None)


def weigh(
    house: House,
    stock: Stock,
    container: Container,
    days_ago: int,
    clock: time,
    luck: Luck | None,
    by: str = "odile",
) -> None:
    """Put it on the scale: the truth, with the noise and the step of that scale."""
    cylinder = getattr(container, "cylinder", None) if container.kind == "cylinder" else None
    regulator_mg = int(cylinder.regulator_mg or 0) if cylinder else 0
    net_mg = stock.truth[container.pk]
    if container.item.dimension == "volume":
        net_mg = net_mg * container.item.density_mg_per_ml / 1_000
    gross = net_mg + (container.tare_mg or 0) + regulator_mg
    scale = stock.floor_scale if gross > 5_800_000 else stock.bench
    noise = 0.0
    if luck:
        label = cylinder.serial if cylinder else container.name
        noise = luck.of("scale", label, days_ago, str(clock)).gauss(0, scale.noise_sd_mg)
    step = scale.resolution_mg
    weighing.record_weighing(
        container=container,
        gross=Mass(round((gross + noise) / step) * step),
        scale=scale,
        regulator_on=bool(regulator_mg),
        by=house.people[by],
        at=house.at(days_ago, clock),
    )


def _plans(house: House, stock: Stock) -> None:
    """Dose, gas and food of every tank; start-ups with their ramp."""
    boss = house.people["maud"]
    begin = house.on - timedelta(days=HISTORY_DAYS)
    for code, row in house.fleet.items():
        tank = house.tanks[code]
        if code in house.before:
            _layout, until = house.before[code]
            _set(house, stock, code, begin, full=True)
            plans.stop_plans(tank=tank, on=until, by=boss, at=house.at(HISTORY_DAYS, time(5)))
        if code not in house.layouts:
            continue
        flooded = house.layouts[code].flooded_on or begin
        since = max(begin, flooded)
        ramp = row["stage"].startswith("startup")
        _set(house, stock, code, since, full=not ramp)


def _set(house: House, stock: Stock, code: str, since: date, *, full: bool) -> None:
    boss, row, tank = house.people["maud"], house.fleet[code], house.tanks[code]
    at = house.at(max((house.on - since).days, 0), time(5))
    dose_ml = int(row["full_dose_ml"]) if not float(row["dose_ml_day"]) else int(row["dose_ml_day"])
    lines = [plans.PlanLine(amount=Volume.ml(dose_ml))]
    if not full:
        lines = ramp(int(row["full_dose_ml"]), since)
    plans.set_plan(
        tank=tank,
        item=stock.fertiliser,
        purpose="dose",
        lines=lines,
        from_on=since,
        by=boss,
        at=at,
        reason="start-up" if not full else "",
    )
    if float(row["co2_g_day"]):
        plans.set_plan(
            tank=tank,
            item=stock.gas,
            purpose="gas",
            lines=[plans.PlanLine(amount=Mass.g(row["co2_g_day"]), means="valve")],
            from_on=since,
            by=boss,
            at=at,
        )
    food = row["food_g_day"] if full and float(row["food_g_day"]) else "0"
    if float(food):
        plans.set_plan(
            tank=tank,
            item=stock.food,
            purpose="food",
            lines=[plans.PlanLine(amount=Mass.g(food), weekdays="1111110")],
            from_on=since,
            by=boss,
            at=at,
        )


def ramp(full_ml: int, flooded: date) -> list[plans.PlanLine]:
    """Nothing in week 1, then a third, two thirds and the whole (common practice, no source)."""
    steps = ((1, 8, 0), (8, 15, 1), (15, 22, 2), (22, None, 3))
    return [
        plans.PlanLine(
            amount=Volume.ml(full_ml * thirds // 3),
            from_on=flooded + timedelta(days=first - 1 if first == 1 else first),
            to_on=flooded + timedelta(days=last) if last else None,
        )
        for first, last, thirds in steps
    ]
