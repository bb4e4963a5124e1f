"""In which order does a carer pass the tanks?

Walking order of the rooms, then of the places in them. A tank that is empty is passed by and named;
a flagged tank (sick, in quarantine, own tools) comes last, so that nothing is carried from it to
the others: from clean to dirty, from healthy to suspect. Source: published husbandry practice has
keepers attend quarantined animals after all others, with equipment of their own
(aza.org/quarantine).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum


class Turn(IntEnum):
    """Why a stop comes when it does."""

    IN_ORDER = 0
    QUARANTINE = 1
    FLAGGED = 2


@dataclass(frozen=True, slots=True)
class Place:
    """A tank where it stands, as far as the walk needs it.

    room_order, position_order : place in the walk; any integers.
    code : last resort, so that two tanks of one order always come the same way round.
    """

    key: int
    code: str
    room_order: int
    position_order: int
    is_empty: bool = False
    is_quarantine: bool = False
    is_flagged: bool = False

    @property
    def turn(self) -> Turn:
        if self.is_flagged:
            return Turn.FLAGGED
        return Turn.QUARANTINE if self.is_quarantine else Turn.IN_ORDER


@dataclass(frozen=True, slots=True)
class Walk:
    """stops : places with something to do, in order. passed : empty places, in walking order."""

    stops: tuple[Place, ...]
    passed: tuple[Place, ...]

    @property
    def order(self) -> tuple[Place, ...]:
        """Stops and empty places in the order in which they are met."""
        return tuple(sorted((*self.stops, *self.passed), key=_turn))


def walk(places: Iterable[Place]) -> Walk:
    """The walk past these places."""
    ordered = sorted(places, key=_turn)
    return Walk(
        stops=tuple(place for place in ordered if not place.is_empty),
        passed=tuple(place for place in ordered if place.is_empty),
    )


def neighbours(order: Sequence[Place], key: int) -> tuple[Place | None, Place | None]:
    """The place before and the place after the one with this key."""
    at = next((index for index, place in enumerate(order) if place.key == key), None)
    if at is None:
        return None, None
    before = order[at - 1] if at > 0 else None
    after = order[at + 1] if at + 1 < len(order) else None
    return before, after


def _turn(place: Place) -> tuple[int, int, int, str]:
    # An empty place carries nothing from tank to tank, so it keeps its turn in the room.
    turn = Turn.IN_ORDER if place.is_empty else place.turn
    return (turn, place.room_order, place.position_order, place.code)
