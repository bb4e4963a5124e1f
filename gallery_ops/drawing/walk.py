"""The walk: all tanks in walking order on one floor, to one scale, each a door."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from gallery_ops.drawing.svg import escape, n
from gallery_ops.drawing.tank import front_view
from gallery_ops.drawing.types import Detail, State, TankShape

_GAP = 14.0
_FLOOR = 72.0


@dataclass(frozen=True, slots=True)
class Stop:
    """One tank of the walk with what has happened at it.

    href : where its door leads; empty when it leads nowhere
    words : read out after the name instead of the usual words of the state
    is_here : the reader stands here
    """

    tank: TankShape
    state: State
    href: str = ""
    words: str = ""
    is_here: bool = False

    @property
    def short(self) -> str:
        """What is printed under it: the code without its leading letter."""
        code = self.tank.code
        return code[1:] if len(code) > 2 and code[1:].isdigit() else code

    @property
    def label(self) -> str:
        """Accessible name; it begins with what is printed."""
        here = ", you are here" if self.is_here else ""
        title = f" {self.tank.title}" if self.tank.title else ""
        return f"{self.short}, {self.tank.code}{title}, {self.words or self.state.words}{here}"


def floors(stops: Sequence[Stop], longest: float = 2600.0) -> list[tuple[Stop, ...]]:
    """Break a long walk into floors of equal scale (20 tanks of a gallery fill one)."""
    out: list[list[Stop]] = [[]]
    used = 0.0
    for stop in stops:
        slot = max(42.0, stop.tank.length) + _GAP
        if out[-1] and used + slot > longest:
            out.append([])
            used = 0.0
        out[-1].append(stop)
        used += slot
    return [tuple(row) for row in out if row]


def walk(
    stops: Sequence[Stop],
    *,
    label: str = "The walk, in order",
    letters: int = 20,
    narrowest: float = 42.0,
    length: float = 0.0,
    key: str = "",
) -> str:
    """One floor of the walk as inline SVG.

    letters : size of the codes [cm of the drawing]; 20 for a desk, 32 for a tablet
    narrowest : least room for a tank, so that codes do not touch; 52 with letters of 32
    length : floor of at least this length, so that several floors share one scale
    """
    highest = max((s.tank.height for s in stops), default=0.0)
    floor = max(_FLOOR, highest + 2)
    pinned = any(s.is_here and floor - s.tank.height < 20 for s in stops)
    top = -24.0 if pinned else -6.0
    codes = floor + letters + 3
    x, out = 0.0, []
    for stop in stops:
        slot = max(narrowest, stop.tank.length)
        out.append(_slot(stop, x, slot, floor, codes, letters, key))
        x += slot + _GAP
    wide = max(x - _GAP, length, 1.0)
    return (
        f'<svg class="wall" viewBox="-4 {n(top)} {n(wide + 8)} {n(codes + 5 - top)}" role="group" '
        f'aria-label="{escape(label)}"><path class="floor" d="M-4 {n(floor)}H{n(wide + 4)}"/>'
        f"{''.join(out)}</svg>"
    )


def walk_length(stops: Sequence[Stop], narrowest: float = 42.0) -> float:
    """Length of a floor with these tanks [cm of the drawing]."""
    return sum(max(narrowest, s.tank.length) + _GAP for s in stops) - _GAP


def _slot(
    stop: Stop, x: float, slot: float, floor: float, codes: float, letters: int, key: str
) -> str:
    tank = stop.tank
    left = x + (slot - tank.length) / 2
    high = floor - tank.height
    body = _picture(tank, stop.state, left, floor, key)
    pin = ""
    if stop.is_here:
        middle = x + slot / 2
        point = high - 20 if high < 20 else 7.0
        pin = f'<path class="pin" d="M{n(middle - 8)} {n(point)}h16l-8 11Z"/>'
    ring = f'<rect class="ring" x="{n(x)}" y="0" width="{n(slot)}" height="{n(codes + 3)}"/>'
    code = (
        f'<text class="code" font-size="{letters}" x="{n(x + slot / 2)}" y="{n(codes)}">'
        f"{escape(stop.short)}</text>"
    )
    css = f"s-{stop.state.value}{' here' if stop.is_here else ''}"
    label = escape(stop.label)
    if not stop.href:
        return f'<g class="{css}" role="img" aria-label="{label}">{ring}{body}{pin}{code}</g>'
    current = ' aria-current="step"' if stop.is_here else ""
    return (
        f'<a class="{css}" href="{escape(stop.href)}" aria-label="{label}"{current}>'
        f"{ring}{body}{pin}{code}</a>"
    )


@lru_cache(maxsize=8192)
def _picture(tank: TankShape, state: State, left: float, floor: float, key: str) -> str:
    high, right = floor - tank.height, left + tank.length
    outline = f"M{n(left)} {n(high)}V{n(floor)}H{n(right)}V{n(high)}"
    bare = f'<path class="bare" d="{outline}"/>'
    if tank.stage.is_empty or state is State.EMPTY:
        return f'<path class="bare gone" d="{outline}"/>'
    if state is State.TO_DO:
        return bare
    if state is State.HALF:
        half = tank.height / 2
        return (
            f'<rect class="half" x="{n(left)}" y="{n(floor - half)}" width="{n(tank.length)}" '
            f'height="{n(half)}"/>{bare}'
        )
    if state is State.SKIPPED:
        return (
            bare
            + f'<path class="skip" d="M{n(left - 4)} {n(floor + 5)}L{n(right + 4)} {n(high - 4)}"/>'
        )
    if state is State.HELD:
        dot = min(10.0, tank.length / 4)
        x, y = (left + right - dot) / 2, (floor + high - dot) / 2
        return (
            f'<path class="bare" d="{outline}Z"/>'
            f'<path class="pin" d="M{n(x)} {n(y)}h{n(dot)}v{n(dot)}h{n(-dot)}Z"/>'
        )
    picture = front_view(tank, Detail.WALK, key=key)
    heard = ' class="elev heard"' if state is State.HEARD else ' class="elev"'
    over = f'<path class="bare gone" d="{outline}"/>' if state is State.HEARD else ""
    return f'<g{heard} transform="translate({n(left)} {n(high)})">{picture}</g>{over}'
