"""What may the public see of a tank? The allow-list, field by field.

Only values of the classes below reach the public templates. They are plain texts and numbers, made
here one by one; no row of the database and no request goes further. A field that is not written
down here is private: prices, suppliers, people, deaths, alerts, notes, serial numbers, stock.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from uuid import UUID

from gallery_ops.drawing import TankShape
from gallery_ops.kernel.values.amount import Amount
from gallery_ops.kernel.values.quantity import Mass


class State(StrEnum):
    """What a code leads to."""

    SHOWN = "shown"
    BUILDING = "building"
    RESTING = "resting"
    EMPTY = "empty"
    RETIRED = "retired"


@dataclass(frozen=True, slots=True)
class Name:
    """A plant or an animal. ``common`` may be empty; ``language`` is the one it is in."""

    common: str
    scientific: str
    language: str


@dataclass(frozen=True, slots=True)
class Size:
    """Outer size of the glass [mm], outer volume [L], and ``float`` or ``low_iron``."""

    length_mm: int
    width_mm: int
    height_mm: int
    glass_mm: int
    outer_volume_l: float
    kind_of_glass: str = ""

    @property
    def cm(self) -> tuple[float, float, float]:
        """Length, width, height [cm]."""
        return (self.length_mm / 10, self.width_mm / 10, self.height_mm / 10)

    @property
    def inches(self) -> tuple[float, float, float]:
        """Length, width, height [in], one decimal."""
        sizes = (self.length_mm, self.width_mm, self.height_mm)
        first, second, third = (round(size / 25.4, 1) for size in sizes)
        return (first, second, third)


@dataclass(frozen=True, slots=True)
class Plants:
    """A group of plants; its number is that of the sketch."""

    names: tuple[Name, ...]
    place: str
    fixing: str
    provenance: str


@dataclass(frozen=True, slots=True)
class Animals:
    """Animals of one kind: how many in words, never counted out."""

    name: Name
    how_many: str
    adult_size_mm: int | None

    @property
    def adult_size_cm(self) -> float:
        """Length when grown [cm]; 0 when nobody knows."""
        return (self.adult_size_mm or 0) / 10


@dataclass(frozen=True, slots=True)
class Device:
    """A lamp or a filter: its kind in the gallery's words, and figures where they are known."""

    name: str
    hours_per_day: float | None = None
    power_w: float | None = None
    flow_l_per_h: float | None = None


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer of the ground; depth in front and behind [mm]."""

    material: str
    front_mm: int
    back_mm: int

    @property
    def front_cm(self) -> float:
        """Depth in front [cm]."""
        return self.front_mm / 10

    @property
    def back_cm(self) -> float:
        """Depth behind [cm]."""
        return self.back_mm / 10


@dataclass(frozen=True, slots=True)
class Stones:
    """All stones, or all wood, of a layout."""

    is_wood: bool
    pieces: int
    mass: Mass | None
    longest_mm: int

    @property
    def longest_cm(self) -> float:
        """The longest piece [cm]."""
        return self.longest_mm / 10


@dataclass(frozen=True, slots=True)
class Gift:
    """What the plan gives: how much on such a day, on how many days of the week."""

    purpose: str
    amount: Amount
    days_a_week: int


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo that somebody released for visitors: its name in the address, who took it as the
    release says, and what it shows.
    """

    uid: UUID
    credit: str
    words: str
    taken_on: date


@dataclass(frozen=True, slots=True)
class Work:
    """A layout as its designer approved it."""

    title: str
    designer: str
    year: int | None
    story: str
    inspiration: str
    went_wrong: str
    difficulty: str
    has_co2: bool
    shape: TankShape
    ages: tuple[tuple[int, TankShape], ...]
    plants: tuple[Plants, ...]
    animals: tuple[Animals, ...]
    lamps: tuple[Device, ...]
    filters: tuple[Device, ...]
    layers: tuple[Layer, ...]
    hardscape: tuple[Stones, ...]
    gifts: tuple[Gift, ...]
    water_weeks: int | None
    trim_weeks: int | None
    photos: tuple[Picture, ...] = ()


@dataclass(frozen=True, slots=True)
class Next:
    """What comes into an empty glass."""

    title: str
    designer: str
    on: date | None


@dataclass(frozen=True, slots=True)
class Before:
    """What stood behind a code that is no longer in use."""

    title: str
    designer: str


@dataclass(frozen=True, slots=True)
class SpecPage:
    """Everything a visitor may read.

    ``language`` is that of the gallery's own texts, ``tongue`` that of the words around them.
    """

    state: State
    showroom: str
    place: str
    language: str
    decimal_mark: str
    code: str
    tongue: str
    label: str = ""
    size: Size | None = None
    day: int | None = None
    come_back_on: date | None = None
    work: Work | None = None
    next: Next | None = None
    before: Before | None = None
    now_at: str = ""
