"""Angular stones with one lit face, and flights of steps."""

from gallery_ops.drawing.ground import Ground
from gallery_ops.drawing.seed import Dice
from gallery_ops.drawing.svg import Point, path, polygon
from gallery_ops.drawing.types import Detail

# Outline and lit face as parts of width and height, foot left to foot right.
_OUTLINE = ((0.0, 0.0), (0.03, 0.36), (0.14, 0.7), (0.3, 1.0), (0.5, 0.9), (0.72, 0.5), (1.0, 0.0))
_LIT = ((0.42, 0.55), (0.27, 0.1))


def stone(x: float, foot: float, width: float, height: float, dice: Dice) -> str:
    """One stone whose foot stands at x..x+width [cm]."""
    mirrored = dice.roll() < 0.35
    points: list[Point] = []
    for u, v in _OUTLINE:
        u2 = u + (dice.around(0.05) if 0 < u < 1 else 0)
        v2 = v * dice.between(0.93, 1.03)
        points.append((x + width * (1 - u2 if mirrored else u2), foot - height * v2))
    lit = [*points[2:5]]
    lit += [(x + width * (1 - u if mirrored else u), foot - height * v) for u, v in _LIT]
    return path("st", polygon(points)) + path("sh", polygon(lit))


def group(
    ground: Ground, at: float, width: float, height: float, detail: Detail, dice: Dice
) -> str:
    """A main stone with three to five that follow it, the highest drawn last."""
    count = 3 if detail is Detail.WALK else 3 + int(dice.roll() * 2.4)
    centre, out = at * ground.length, []
    for i in range(count):
        side = 1 if i % 2 else -1
        tall = height * dice.between(0.32, 0.62)
        wide = tall * dice.between(0.42, 0.68)
        away = width * dice.between(0.3, 0.62) * (1 + 0.35 * (i // 2))
        x = min(max(centre + side * away - wide / 2, 0.3), ground.length - wide - 0.3)
        out.append(stone(x, ground.top(x + wide / 2) + 0.8, wide, tall, dice))
    x = min(max(centre - width * 0.35, 0.4), ground.length - width * 0.7)
    out.append(stone(x, ground.top(centre) + 1, width * 0.7, height, dice))
    return "".join(out)


def steps(
    ground: Ground, at: float, width: float, height: float, falls: int, count: int = 5
) -> str:
    """A flight of worn blocks that falls to one side; count 1 is a single block."""
    block = width / count * 1.04
    left, out = at * ground.length - width / 2, []
    order = range(count) if falls >= 0 else range(count - 1, -1, -1)
    for rank, i in enumerate(order):
        x = left + i * width / count
        foot = ground.top(x + block / 2) + 1.1
        tall = height * (1 - 0.17 * rank) + 0.6
        top = foot - tall
        e = min(block * 0.04, 0.4)
        edge, far = x + e, x + block - e
        front = [(x, foot), (edge, top + 0.5), (x + 3 * e, top), (x + block - 3 * e, top + 0.2)]
        front += [(far, top + 0.9), (x + block, foot)]
        lit = [*front[1:5], (x + block - 4 * e, top + 1.1), (x + 4 * e, top + 1.0)]
        out.append(path("st", polygon(front)) + path("sh", polygon(lit)))
    return "".join(out)
