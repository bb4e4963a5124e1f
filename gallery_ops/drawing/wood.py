"""A branching root with tufts of leaves at its tips."""

from dataclasses import dataclass
from math import cos, pi, sin

from gallery_ops.drawing.seed import Dice
from gallery_ops.drawing.svg import Point, n, path
from gallery_ops.drawing.types import Detail

_DEPTH = {Detail.WALK: 3, Detail.WALL: 4, Detail.PAGE: 4}
_TUFT = {Detail.WALK: 1, Detail.WALL: 2, Detail.PAGE: 3}


@dataclass(slots=True)
class Root:
    """One piece of wood while it is being drawn."""

    detail: Detail
    dice: Dice
    strokes: list[str]
    tips: list[Point]
    top: float
    wide: float
    foot: float

    def _inside(self, x: float, y: float) -> Point:
        """The point, moved to where there is water."""
        return min(max(x, 1.2), self.wide - 1.2), min(max(self.top, y), self.foot - 1.6)

    def branch(self, start: Point, angle: float, length: float, width: float, depth: int) -> None:
        """One bent stroke and what grows out of it."""
        dice = self.dice
        end = self._inside(start[0] + cos(angle) * length, start[1] - sin(angle) * length)
        along, bow = dice.between(0.4, 0.62), dice.around(0.13) * length
        bend = (
            start[0] + (end[0] - start[0]) * along + sin(angle) * bow,
            start[1] + (end[1] - start[1]) * along + cos(angle) * bow,
        )
        self.strokes.append(
            f'<path class="wd" stroke-width="{n(max(0.5, width))}" d="M{n(start[0])} {n(start[1])}'
            f'Q{n(bend[0])} {n(bend[1])} {n(end[0])} {n(end[1])}"/>'
        )
        if depth <= 1:
            self.tips.append(end)
            return
        spread = dice.between(0.36, 0.62)
        keep = 0.9 if depth > 2 else 0.8
        for side in (-1, 1):
            if side == -1 or dice.roll() < keep:
                turn = angle + side * spread + dice.around(0.16)
                self.branch(end, turn, length * dice.between(0.58, 0.78), width * 0.6, depth - 1)
        if dice.roll() < 0.75 and depth > 1:
            turn = angle + dice.around(1) + (0.7 if dice.roll() < 0.5 else -0.7)
            self.branch(bend, turn, length * 0.5, width * 0.45, min(depth - 1, 2))


def root(
    foot: Point,
    reach: float,
    thick: float,
    leans: int,
    detail: Detail,
    dice: Dice,
    *,
    top: float,
    wide: float,
) -> tuple[str, list[Point]]:
    """Strokes of one root, thickest first, and the tips where leaves sit.

    foot : where it leaves the bed [cm]
    reach : length of the first stroke [cm]
    thick : width of the first stroke [cm]
    leans : -1, 0, 1
    top, wide : nothing is drawn above this height [cm from the rim] or beyond this width [cm]
    """
    piece = Root(detail, dice, [], [], top, wide, foot[1])
    depth = _DEPTH[detail]
    first = pi / 2 - leans * dice.between(0.5, 0.85)
    piece.branch(foot, first, reach, thick, depth)
    low = pi / 2 - leans * dice.between(0.95, 1.25)
    piece.branch((foot[0] + leans * reach * 0.2, foot[1]), low, reach * 0.82, thick * 0.74, depth)
    if leans == 0 or dice.roll() < 0.45:
        other = pi / 2 + (leans or -1) * dice.between(0.5, 0.8)
        piece.branch(foot, other, reach * 0.68, thick * 0.72, depth - 1)
    piece.strokes.sort(key=lambda s: -float(s.split('"')[3]))
    return "".join(piece.strokes), piece.tips


def tufts(
    tips: list[Point],
    size: float,
    fullness: float,
    detail: Detail,
    dice: Dice,
    *,
    wide: float,
    css: str = "p3",
) -> str:
    """Small leaves at the tips of the wood, upwards and outwards."""
    out = []
    for x, y in tips:
        for _ in range(round(_TUFT[detail] * fullness)):
            bx, by = x + dice.around(0.25 * size), y + dice.around(0.25 * size)
            angle = dice.between(0.3, 2.84)
            long = size * dice.between(0.5, 1.2)
            dx, dy = cos(angle) * long, -sin(angle) * long
            dx = min(max(dx, 0.5 - bx), wide - 0.5 - bx)
            nx, ny = -dy * 0.22, dx * 0.22
            out.append(
                f"M{n(bx)} {n(by)}q{n(dx * 0.45 + nx)} {n(dy * 0.45 + ny)} {n(dx)} {n(dy)}"
                f"q{n(-dx * 0.45 - nx)} {n(-dy * 0.45 - ny)} {n(-dx)} {n(-dy)}Z"
            )
    return path(css, "".join(out))
