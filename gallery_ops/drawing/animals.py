"""A loose school that swims one way."""

from gallery_ops.drawing.seed import Dice
from gallery_ops.drawing.svg import n, path
from gallery_ops.drawing.types import Detail, Profile, TankShape

_COUNT = {Detail.WALK: 0.6, Detail.WALL: 1.0, Detail.PAGE: 1.0}


def school(tank: TankShape, waterline: float, detail: Detail, dice: Dice) -> str:
    """Fish in the open water, away from the mass of plants."""
    count = round(min(24, 0.8 + tank.length * 0.15) * _COUNT[detail])
    centre = {
        Profile.LEFT: 0.68, Profile.RIGHT: 0.3, Profile.ISLAND: 0.24, Profile.VALLEY: 0.5,
    }[tank.profile] + dice.around(0.05)  # fmt: skip
    free = tank.height - waterline
    way = 1 if dice.roll() < 0.5 else -1
    scale = max(1.0, (tank.length / 110) ** 0.5)
    out = []
    for _ in range(count):
        x = (centre + dice.around(0.13) + dice.around(0.13)) * tank.length
        y = waterline + free * (0.26 + dice.around(0.13) + dice.around(0.11))
        size = dice.between(1.7, 2.4) * scale
        d = way if dice.roll() > 0.07 else -way
        long, fat = d * size, size * 0.31
        out.append(
            f"M{n(x)} {n(y)}q{n(long / 2)} {n(-fat)} {n(long)} 0q{n(-long / 2)} {n(fat)} {n(-long)}"
            f" 0l{n(-d * 0.32 * size)} {n(-0.22 * size)}v{n(0.44 * size)}Z"
        )
    return path("fi", "".join(out))
