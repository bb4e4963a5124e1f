"""Makes Undershore for a day: as it stands before the doors open, with nothing done yet."""

from __future__ import annotations

from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from django.db import transaction

from gallery_ops.demo import gas, waters
from gallery_ops.demo.buying import Buying
from gallery_ops.demo.days import Days, plan_rota
from gallery_ops.demo.gas_vans import GasVans
from gallery_ops.demo.house import House, build, gallery, stock_animals
from gallery_ops.demo.layouts import live_on
from gallery_ops.demo.luck import Luck
from gallery_ops.demo.mishaps import ALL, Mishaps
from gallery_ops.demo.past import look_back
from gallery_ops.demo.stock import open_books
from gallery_ops.kernel.errors import Refused
from gallery_ops.kernel.queries.people import has_showroom
from gallery_ops.kernel.services.work import run_due, want_work
from gallery_ops.kernel.values.day import business_day

SEED = 20260312
KINDS = (
    ("due_tasks",),
    ("forecast",),
    ("due_tasks", "reorder", "watch", "double_dose", "overdue"),
)
"""What the worker does with all this, each step on what the one before it wrote."""


def today(at: datetime) -> date:
    """The business day at Undershore: before its night ends, it is still yesterday there."""
    said = gallery()["showroom"]
    return business_day(at, ZoneInfo(said["zone"]), said["cut_off_hour"])


def load(on: date, *, mishaps: Mishaps = ALL, seed: int = SEED) -> House:
    """Ninety days of history until the evening before ``on``.

    Raises
    ------
    Refused
        ``not_empty`` when a gallery is here already.
    """
    if has_showroom():
        raise Refused(
            "not_empty",
            "A gallery is in this database already.",
            remedy="Use an empty data folder for the demo.",
        )
    luck = Luck(seed)
    with transaction.atomic():
        house = build(on)
        live_on(house)
        stock = open_books(house, luck)
        buying = Buying(house, stock, luck, mishaps)
        buying.open()
        stock_animals(house, stock.trade)
    Days(house, stock, luck, mishaps, buying, GasVans(buying)).run()
    with transaction.atomic():
        gas.tell(house, stock)
        waters.measure(house)
        plan_rota(house)
    look_back(house)
    settle(house)
    return house


def settle(house: House) -> None:
    """Do the work that all this wants, when the day itself begins."""
    at = house.at(0, time(house.showroom.cut_off_hour))
    for kinds in KINDS:
        for kind in kinds:
            want_work(house.showroom, kind, at=at)
        run_due(at=at, showroom=house.showroom, kinds=kinds, limit=2_000)
    run_due(at=at, showroom=house.showroom, limit=2_000)
