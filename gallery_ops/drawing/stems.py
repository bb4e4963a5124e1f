"""Stem plants in two tones, each node with a pair of drooping leaves."""

from collections.abc import Callable, Sequence
from math import sqrt

from gallery_ops.drawing.seed import Dice
from gallery_ops.drawing.svg import n

_PITCH = {"walk": 4.2, "wall": 2.7, "page": 1.34}
_GAP = {"walk": 2.9, "wall": 2.2, "page": 1.85}
_FULL = {"walk": 80.0, "wall": 140.0, "page": 104.0}  # longest glass drawn at this density [cm]
_NODES = {"walk": 85, "wall": 230, "page": 330}  # leaf pairs that a drawing can carry


def pitch(detail: str, length: float) -> float:
    """Distance from node to node [cm]."""
    return _PITCH[detail] * max(1.0, length / _FULL[detail])


def gap(detail: str, length: float) -> float:
    """Distance from stem to stem [cm]."""
    return _GAP[detail] * max(1.0, length / _FULL[detail])


def thinning(stands: Sequence[tuple[float, float]], detail: str, length: float) -> float:
    """How much sparser stems must stand so that the drawing stays small.

    stands : width and height of each stand [cm]
    """
    area = sum(wide * tall for wide, tall in stands)
    nodes = area / (0.8 * gap(detail, length) * pitch(detail, length))
    return max(1.0, sqrt(nodes / _NODES[detail]))


def stem(x: float, foot: float, height: float, node: float, leaf: float, dice: Dice) -> str:
    """One stem from its foot upwards; leaves grow smaller towards the tip."""
    count = max(1, round(height / node))
    rise, out, y = height / count, [], foot
    for i in range(count):
        nx, ny = x + dice.around(0.32 * node**0.5), y - rise
        r = leaf * (1 - 0.42 * i / count) * dice.between(0.85, 1.12)
        tip, arm, up = n(ny - 0.27 * r), r * 0.52, n(ny - 0.6 * r)
        out.append(
            f"M{n(x)} {n(y)}L{n(nx)} {n(ny)}M{n(nx + r)} {tip}Q{n(nx + arm)} {up} {n(nx)} {n(ny)}"
            f"Q{n(nx - arm)} {up} {n(nx - r)} {tip}"
        )
        x, y = nx, ny
    return "".join(out)


def stand(
    left: float,
    right: float,
    detail: str,
    length: float,
    *,
    thin: float,
    foot: Callable[[float], float],
    height: Callable[[float], float],
    dice: Dice,
) -> tuple[str, str]:
    """A stand of stems between two places: light stems behind, dark before them.

    thin : 1 as dense as the detail allows; 2 half as many stems with half as many leaves
    """
    node, between = pitch(detail, length) * thin, gap(detail, length) * thin
    leaf = 1.1 + 0.25 * min(node, 4.2)
    left, right = max(left + 0.4 * between, leaf + 0.6), min(right, length - leaf - 0.6)
    light, dark, x, i = [], [], left, 0
    while x < right:
        tall = height(x) * dice.between(0.82, 1.06)
        if tall > 1.6:
            if i % 5 in (0, 1, 3):
                light.append(stem(x, foot(x) + 0.5, tall, node, leaf, dice))
            else:
                dark.append(stem(x, foot(x) + 0.5, tall * 0.74, node, leaf * 1.12, dice))
        x += between * dice.between(0.62, 0.98)
        i += 1
    return "".join(light), "".join(dark)
