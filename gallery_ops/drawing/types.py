"""What must be known of a tank before it can be drawn?

Lengths in millimetres, as they are measured; places along the front as a part of the
length, 0 at the left glass and 1 at the right. All values are frozen: they are keys of the
cache of drawings.
"""

from dataclasses import dataclass
from enum import StrEnum


class Detail(StrEnum):
    """How near the eye is: a hand-high walk, the wall, or the whole page."""

    WALK = "walk"
    WALL = "wall"
    PAGE = "page"


class Stage(StrEnum):
    """State of the layout in the glass; it sets how high everything stands."""

    VACANT = "vacant"
    BRIEFED = "briefed"
    HARDSCAPE = "hardscape"
    PLANTING = "planting"
    START_UP = "start_up"
    GROW_IN = "grow_in"
    SHOW = "show"
    RECOVERY = "recovery"
    DECLINE = "decline"
    TEARDOWN = "teardown"

    @property
    def is_empty(self) -> bool:
        """Only glass: nothing has been built yet, or nothing is left."""
        return self in (Stage.VACANT, Stage.BRIEFED)

    @property
    def is_dry(self) -> bool:
        """Something stands in the glass, but no water yet or no longer."""
        return self in (Stage.HARDSCAPE, Stage.PLANTING, Stage.TEARDOWN)


class Profile(StrEnum):
    """The line that the mass of plants follows from left to right."""

    VALLEY = "valley"
    LEFT = "left"
    RIGHT = "right"
    ISLAND = "island"


class Rock(StrEnum):
    """Kinds of hardscape that are drawn differently: one stone, a group of them, one step, a
    flight of them, wood."""

    STONE = "stone"
    STONES = "stones"
    STEP = "step"
    STEPS = "steps"
    WOOD = "wood"


class Place(StrEnum):
    """Where a group of plants stands."""

    FOREGROUND = "foreground"
    MIDGROUND = "midground"
    BACKGROUND = "background"
    EPIPHYTE = "epiphyte"
    MOSS = "moss"
    FLOATING = "floating"


class Leaf(StrEnum):
    """Colour of the leaf, as far as a drawing tells."""

    LIGHT = "light"
    GREEN = "green"
    DARK = "dark"
    RED = "red"


@dataclass(frozen=True, slots=True)
class Hardscape:
    """One piece (or one flight of steps).

    at : part of the length where its foot stands, 0..1
    width_mm, height_mm : 0 means "as it suits the glass"
    leans : -1 to the left, 1 to the right, 0 as its place suggests
    """

    kind: Rock
    at: float
    width_mm: int = 0
    height_mm: int = 0
    leans: int = 0


@dataclass(frozen=True, slots=True)
class PlantGroup:
    """Plants of one kind that stand together, with their real height [mm].

    number : what it is called by; 0 where it is only counted
    """

    place: Place
    start: float
    end: float
    height_mm: int
    leaf: Leaf = Leaf.GREEN
    number: int = 0


@dataclass(frozen=True, slots=True)
class TankShape:
    """Everything a front view is made of.

    code, version : name the tank and the version of its layout; together they are the seed
    length_mm, width_mm, height_mm : outer size of the glass
    kind_of_glass : ``float`` is drawn with a greenish edge, ``low_iron`` with a pale one; empty
        where nobody has said
    """

    code: str
    length_mm: int
    width_mm: int
    height_mm: int
    glass_mm: int = 6
    title: str = ""
    stage: Stage = Stage.SHOW
    profile: Profile = Profile.VALLEY
    hardscape: tuple[Hardscape, ...] = ()
    plants: tuple[PlantGroup, ...] = ()
    has_animals: bool = True
    version: str = "1.0"
    kind_of_glass: str = ""

    def __post_init__(self) -> None:
        for name in ("length_mm", "width_mm", "height_mm"):
            size = getattr(self, name)
            if not 50 <= size <= 20_000:
                raise ValueError(f"{name}: {size} mm is not between 50 and 20000 mm.")

    @property
    def length(self) -> float:
        """Outer length [cm]."""
        return self.length_mm / 10

    @property
    def height(self) -> float:
        """Outer height [cm]."""
        return self.height_mm / 10

    @property
    def name(self) -> str:
        """Code and title as they are read out."""
        return f"{self.code} {self.title}".strip()


class State(StrEnum):
    """What has happened at a stop of the walk."""

    TO_DO = "to_do"
    DONE = "done"
    HALF = "half"
    SKIPPED = "skipped"
    EMPTY = "empty"
    HELD = "held"
    HEARD = "heard"

    @property
    def words(self) -> str:
        """The state as it is read out after the name."""
        return _WORDS[self]


_WORDS = {
    State.TO_DO: "to do",
    State.DONE: "done",
    State.HALF: "half done",
    State.SKIPPED: "skipped",
    State.EMPTY: "empty, passed by",
    State.HELD: "held, needs a person",
    State.HEARD: "done, as last heard",
}
