"""Rounded mounds: low plants that stand before the stems."""

from math import cos, pi, sin

from gallery_ops.drawing.seed import Dice
from gallery_ops.drawing.svg import n


def mound(x: float, foot: float, half: float, height: float, dice: Dice) -> str:
    """Half a scalloped disc around x; half its width and its height in cm."""
    count = max(6, min(13, round(half * 1.3) + 5))
    px, py = x - half, foot
    out = [f"M{n(px)} {n(py)}"]
    for i in range(1, count + 1):
        angle = pi - pi * i / count
        wide = half * dice.between(0.93, 1.04)
        high = height * dice.between(0.92, 1.06)
        qx = x + cos(angle) * wide
        qy = foot if i == count else foot - sin(angle) * high
        middle = pi - pi * (i - 0.5) / count
        bulge = 1 + 1.9 / (count + 4)
        out.append(
            f"Q{n(x + cos(middle) * half * bulge)} {n(foot - sin(middle) * height * bulge)}"
            f" {n(qx)} {n(qy)}"
        )
    return "".join(out) + "Z"
