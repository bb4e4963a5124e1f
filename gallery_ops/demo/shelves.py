"""What Undershore keeps beside fertiliser, gas and food, and when it is needed. Invented."""

from __future__ import annotations

from dataclasses import dataclass

from gallery_ops.demo.mishaps import LARGE_TUB_DAYS
from gallery_ops.demo.stock import CAN_UL, HISTORY_DAYS
from gallery_ops.kernel.values.quantity import Mass, Pieces, Quantity, Volume

BEFORE = HISTORY_DAYS + 30
CAN, TUB, BIG_TUB = Volume(CAN_UL), Mass.g(100), Mass.g(250)
TUBS = (88, 70, 52, 34, LARGE_TUB_DAYS)
"""A tub of food is opened on each of these days."""
OPEN_SENT = 9
"""The open order was sent so many days ago."""
Wanted = tuple[str, Quantity, int]


@dataclass(frozen=True, slots=True)
class Shelf:
    """Something that is kept beside fertiliser, gas and food."""

    code: str
    name: str
    dimension: str
    pack: Quantity
    cents: int
    harm_class: str = "C"
    storage: str = ""
    kind: str = "other"


SHELVES = (
    Shelf("filter-floss", "Filter floss", "piece", Pieces(1), 180, storage="shelf 3"),
    Shelf(
        "drop-checker-fluid", "Drop-checker fluid", "volume", Volume.ml(15), 420, storage="shelf 2"
    ),
    Shelf("root-tabs", "Root tabs", "piece", Pieces(30), 1_190, storage="shelf 2"),
    Shelf("air-stones", "Air stones", "piece", Pieces(1), 240, "D", "shelf 3"),
    Shelf("nitrite-test", "Nitrite test", "piece", Pieces(40), 1_490, "A", "cool shelf", "test"),
)
FLOSS, FLUID, TABS, STONES, NITRITE = ((shelf.code, shelf.pack) for shelf in SHELVES)
A_WEEK = {"filter-floss": 3, "root-tabs": 7, "air-stones": 1, "nitrite-test": 4}
"""Pieces that are used a week; they are counted on Mondays."""
PLANTS = Shelf("plant-cups", "Plants in cups", "piece", Pieces(1), 280, "B", "plant rack")

VANS: tuple[tuple[int, tuple[tuple[str, Quantity, int], ...]], ...] = (
    (88, (("fine-granules", TUB, 1), (*FLOSS, 10))),
    (80, ((*TABS, 2), (*FLUID, 2))),
    (70, (("fine-granules", TUB, 1), (*NITRITE, 1))),
    (68, (("fertiliser", CAN, 1), (*FLOSS, 10))),
    (59, ((*STONES, 4), (*TABS, 2))),
    (52, (("fine-granules", TUB, 1), (*FLUID, 2))),
    (44, (("fertiliser", CAN, 1), (*FLOSS, 10))),
    (34, (("fine-granules", TUB, 1), (*TABS, 2))),
    (27, ((*NITRITE, 1), (*STONES, 4))),
    (19, (("fertiliser", CAN, 1), (*FLOSS, 10))),
    (16, (("fine-granules", TUB, 2), (*FLUID, 2))),
)
"""A van is needed before that day; what it brings."""
PLANT_VANS = ((11, 24), (5, 42))
"""Cups for two layouts that are planted on these days."""
OPEN_WANTED: tuple[Wanted, ...] = (
    (*FLOSS, 20),
    (*FLUID, 4),
    (*TABS, 3),
    ("fine-granules", TUB, 2),
    (*STONES, 6),
)
"""What stands on it."""
