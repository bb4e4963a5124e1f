"""How does each tank of a showroom look, and at which address is its drawing?

Rows of the rooms become the plain values of the drawing module, in as many queries for twenty
tanks as for two thousand. A drawing is named by its content, so its address may be kept for ever;
whoever asks for an address gets only a picture of glass, stone and plants.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from gallery_ops.drawing import (
    Detail,
    Hardscape,
    Leaf,
    Place,
    PlantGroup,
    Profile,
    Rock,
    Stage,
    TankShape,
    content_hash,
    standalone,
)
from gallery_ops.kernel.errors import Unknown
from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.queries.people import showrooms
from inventory.queries.livestock import heads_by_tank
from tanks.models import Hardscape as HardscapeRow
from tanks.models import Layout
from tanks.models import PlantGroup as PlantGroupRow
from tanks.queries.label_text import as_approved
from tanks.queries.layouts import open_layouts_with_parts
from tanks.queries.tanks import TankNow, fleet

_LEAVES = {"light_green": Leaf.GREEN, "dark_green": Leaf.DARK, "red": Leaf.RED}
KEPT = 20_000
SCAN_EVERY_S = 1.0


def shapes(
    showroom: Showroom,
    at: datetime,
    tanks: Iterable[TankNow] | None = None,
    layouts: Iterable[Layout] | None = None,
) -> dict[str, TankShape]:
    """Code -> how the tank looks at ``at``; as many queries for 20 tanks as for 2,000.

    tanks, layouts : the fleet, and what stands in it, when the caller has them already
    """
    rows = list(tanks) if tanks is not None else fleet(showroom, at)
    standing = layouts
    if standing is None:
        standing = open_layouts_with_parts(showroom, at, to_draw=True)
    parts = {layout.tank_id: layout for layout in standing}
    animals = heads_by_tank(showroom, at)
    return {
        row.code: shape_of(
            row, parts.get(row.tank.pk), at, has_animals=bool(animals.get(row.tank.pk))
        )
        for row in rows
    }


def shape_of(row: TankNow, layout: Layout | None, at: datetime, *, has_animals: bool) -> TankShape:
    """One tank as plain values. ``layout`` comes with its groups, hardscape and versions."""
    glass = row.tank
    bare = TankShape(
        row.code,
        glass.length_mm,
        glass.width_mm,
        glass.height_mm,
        glass.glass_mm,
        stage=Stage.VACANT,
        has_animals=False,
        kind_of_glass=glass.kind_of_glass,
    )
    if layout is None:
        return bare
    versions = [v for v in layout.versions.all() if _holds(v, at)]
    return replace(
        bare,
        title=layout.title,
        stage=Stage(layout.stage),
        profile=Profile(layout.profile),
        hardscape=_pieces([h for h in layout.hardscape.all() if _holds(h, at)]),
        plants=tuple(_group(g) for g in _in_order(layout.plant_groups.all()) if _holds(g, at)),
        has_animals=has_animals,
        version=f"{versions[-1].major}.{versions[-1].minor}" if versions else "0",
    )


def _holds(row: object, at: datetime) -> bool:
    begun, ended = getattr(row, "from_at"), getattr(row, "to_at")  # noqa: B009 - any Period
    return bool(begun <= at and (ended is None or at < ended))


def _in_order(groups: Iterable[PlantGroupRow]) -> list[PlantGroupRow]:
    return sorted(groups, key=lambda g: g.number)


def _group(row: PlantGroupRow) -> PlantGroup:
    half = row.spread_permille / 2000
    middle = row.centre_permille / 1000
    return PlantGroup(
        Place(row.place),
        max(0.0, middle - half),
        min(1.0, middle + half),
        row.height_mm or 0,
        _LEAVES.get(row.leaf_colour, Leaf.GREEN),
    )


def _pieces(rows: list[HardscapeRow]) -> tuple[Hardscape, ...]:
    """Wood as roots; a stone that stands alone in the list as a group of its kind."""
    rows = sorted(rows, key=lambda r: r.pk)
    stones = sum(1 for r in rows if r.kind == "stone" and "step" not in r.name.lower())
    return tuple(
        Hardscape(
            _rock(r, stones),
            r.centre_permille / 1000,
            0 if r.kind == "wood" else r.length_mm,
            r.height_mm,
        )
        for r in rows
    )


def _rock(row: HardscapeRow, stones: int) -> Rock:
    if row.kind == "wood":
        return Rock.WOOD
    if "step" in row.name.lower():
        return Rock.STEP
    return Rock.STONES if stones == 1 else Rock.STONE


AGES = ((0, Stage.START_UP, 0.3), (30, Stage.GROW_IN, 0.65), (90, Stage.SHOW, 1.0))
"""Day, stage and part of their height that plants have by then (common practice, no source)."""


def younger_days(shape: TankShape, day: int | None) -> tuple[tuple[int, TankShape], ...]:
    """Day -> how such a layout looks then, for the days behind it; none before its 30th."""
    past = [
        (
            on,
            replace(
                shape,
                stage=stage,
                plants=tuple(replace(g, height_mm=round(g.height_mm * part)) for g in shape.plants),
            ),
        )
        for on, stage, part in AGES
        if day is not None and on < day
    ]
    return tuple(past) if len(past) > 1 and not shape.stage.is_empty else ()


# --- addresses -------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Drawing:
    """What an address shows."""

    shape: TankShape
    detail: Detail
    numbered: bool = False

    @property
    def name(self) -> str:
        """Its content as a name."""
        return content_hash(self.shape, self.detail, numbered=self.numbered)


class _Known:
    """Drawings whose address this process has given out, the oldest forgotten first."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._scanning = threading.Lock()
        self._kept: OrderedDict[str, Drawing] = OrderedDict()
        self._scanned = float("-inf")

    def add(self, drawing: Drawing) -> str:
        name = drawing.name
        with self._lock:
            self._kept[name] = drawing
            self._kept.move_to_end(name)
            while len(self._kept) > KEPT:
                self._kept.popitem(last=False)
        return name

    def get(self, name: str) -> Drawing | None:
        with self._lock:
            return self._kept.get(name)

    def find(self, name: str, scan: Callable[[], Iterable[Drawing]]) -> Drawing | None:
        """The drawing, after a look through all tanks if it must be.

        Others who ask meanwhile wait for that look; there is at most one a second, however many
        addresses are guessed.
        """
        found = self.get(name)
        if found is not None:
            return found
        with self._scanning:
            found = self.get(name)
            if found is None and time.monotonic() - self._scanned >= SCAN_EVERY_S:
                for drawing in scan():
                    self.add(drawing)
                self._scanned = time.monotonic()
                found = self.get(name)
        return found

    def forget(self) -> None:
        """As after a start of the process."""
        with self._lock:
            self._kept.clear()
            self._scanned = float("-inf")


known = _Known()


def address(shape: TankShape, detail: Detail = Detail.PAGE, *, numbered: bool = False) -> str:
    """Where the drawing can be fetched, for ever."""
    return f"/drawings/{known.add(Drawing(shape, detail, numbered))}.svg"


def addresses(looks: Mapping[str, TankShape], detail: Detail = Detail.PAGE) -> dict[str, str]:
    """Code -> address of its drawing."""
    return {code: address(shape, detail) for code, shape in looks.items()}


def drawing_file(name: str, at: datetime) -> str:
    """The drawing with this name as a file of its own.

    A process that did not give the address out looks through the tanks as they stand now.

    Raises
    ------
    Unknown
        when no tank looks like that, or not any more.
    """
    found = known.find(name, lambda: _all_drawings(at))
    if found is None:
        raise Unknown("drawing")
    return standalone(found.shape, found.detail, numbered=found.numbered)


def _all_drawings(at: datetime) -> Iterator[Drawing]:
    for showroom in showrooms():
        standing = open_layouts_with_parts(showroom, at, with_labels=True)
        tanks = fleet(showroom, at)
        looks = list(shapes(showroom, at, tanks, standing).values())
        approved = [as_approved(layout, at) for layout in standing]
        looks += shapes(showroom, at, tanks, approved).values()
        for shape in dict.fromkeys(looks):
            for detail in Detail:
                yield Drawing(shape, detail)
            yield Drawing(shape, Detail.PAGE, numbered=True)
            for _, younger in younger_days(shape, AGES[-1][0] + 1):
                yield Drawing(younger, Detail.WALL)
