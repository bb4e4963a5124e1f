"""What do the taps of one emergency say, in whatever order they came?

Two tablets may be in two rooms without a network, and what the first tap says may be the last to
arrive. So nothing is worked out from the order of arrival: the taps are put in the order of their
seconds, and everything else follows from that. A tap that came twice is one tap.

- it began with the earliest tap, whatever that was;
- the place that was said last holds;
- the earliest end holds; taps after it are kept and shown;
- a line was done at its earliest second, a number was rung each time it was rung.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

ENDS: Final = ("over", "nothing")
SAYS_PLACE: Final = ("opened", "place")
NOWHERE: Final = ("", 0)


@dataclass(frozen=True, slots=True, order=True)
class Tap:
    """One tap. at : corrected second of doing (aware). key : its own id, which settles a tie.

    place : `tank`, `room`, `gallery` or nothing. place_id : which tank or room.
    """

    at: datetime
    key: str
    kind: str
    line: int | None = field(default=None, compare=False)
    text: str = field(default="", compare=False)
    person: int = field(default=0, compare=False)
    place: str = field(default="", compare=False)
    place_id: int = field(default=0, compare=False)


@dataclass(frozen=True, slots=True)
class Course:
    """What the taps say together.

    place : (kind, id), nothing while no place was said. lines : number -> when it was first done.
    out : name -> when somebody was first seen outside. rung : number rung -> when, each time.
    """

    opened_at: datetime
    opened_by: int
    place: tuple[str, int]
    lines: dict[int, datetime]
    out: dict[str, datetime]
    rung: dict[str, tuple[datetime, ...]]
    closed_at: datetime | None = None
    closed_by: int = 0
    decided_by: str = ""
    was_nothing: bool = False
    people: tuple[int, ...] = ()


def in_order(taps: Iterable[Tap]) -> list[Tap]:
    """The timeline: each tap once, by its second."""
    return sorted({tap.key: tap for tap in taps}.values())


def course(taps: Iterable[Tap]) -> Course:
    """What follows from the taps; at least one. Raises ValueError for none."""
    timeline = in_order(taps)
    if not timeline:
        raise ValueError("An emergency without a tap is none.")
    first = next((tap for tap in timeline if tap.kind == "opened"), timeline[0])
    places = [tap for tap in timeline if tap.kind in SAYS_PLACE and tap.place]
    end = next((tap for tap in timeline if tap.kind in ENDS), None)
    return Course(
        opened_at=timeline[0].at,
        opened_by=first.person,
        place=(places[-1].place, places[-1].place_id) if places else NOWHERE,
        lines={n: at for n, at in _first(timeline, "done").items() if isinstance(n, int)},
        out={str(name): at for name, at in _first(timeline, "out").items()},
        rung=_rung(timeline),
        closed_at=end.at if end else None,
        closed_by=end.person if end else 0,
        decided_by=end.text if end else "",
        was_nothing=end is not None and end.kind == "nothing",
        people=tuple(dict.fromkeys(tap.person for tap in timeline)),
    )


def stops_where(card_stops: str, place: tuple[str, int]) -> str:
    """Where giving, feeding and routine tasks rest: `tank`, `room`, `gallery` or nowhere.

    card_stops : what the card says. Until a tank or room was said only a card for the whole gallery
    stops anything: which tank it is, is not guessed.
    """
    if card_stops == "nothing":
        return ""
    if place[0]:
        return place[0]
    return "gallery" if card_stops == "gallery" else ""


def seconds_to_each_line(found: Course) -> dict[str, int]:
    """Line -> seconds from the first tap, as a drill is looked at afterwards."""
    return {
        str(line): int((at - found.opened_at).total_seconds())
        for line, at in sorted(found.lines.items())
    }


def _first(timeline: list[Tap], kind: str) -> dict[int | str, datetime]:
    found: dict[int | str, datetime] = {}
    for tap in timeline:
        if tap.kind == kind and (subject := tap.text if kind == "out" else tap.line) is not None:
            found.setdefault(subject, tap.at)
    return found


def _rung(timeline: list[Tap]) -> dict[str, tuple[datetime, ...]]:
    found: dict[str, tuple[datetime, ...]] = {}
    for tap in timeline:
        if tap.kind == "rung":
            found[tap.text] = (*found.get(tap.text, ()), tap.at)
    return found
