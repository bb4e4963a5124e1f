"""Two far hills of foliage: scalloped, lighter behind, following the layout's profile."""

from collections.abc import Callable

from gallery_ops.drawing.ground import Ground
from gallery_ops.drawing.seed import Dice
from gallery_ops.drawing.svg import n, path
from gallery_ops.drawing.types import Detail, Place, Profile, Stage, TankShape

# How high everything stands, as a part of the full layout.
GROWTH = {
    Stage.VACANT: 0.0,
    Stage.BRIEFED: 0.0,
    Stage.HARDSCAPE: 0.0,
    Stage.PLANTING: 0.16,
    Stage.START_UP: 0.26,
    Stage.GROW_IN: 0.62,
    Stage.SHOW: 1.0,
    Stage.RECOVERY: 0.86,
    Stage.DECLINE: 0.8,
    Stage.TEARDOWN: 0.0,
}
_LOW = 0.12
_STEP = {Detail.WALK: 2.0, Detail.WALL: 1.32, Detail.PAGE: 1.0}

Height = Callable[[float], float]


def crown(profile: Profile, t: float) -> float:
    """Part of the free height that the mass reaches at t; 0.12..0.74."""
    if profile is Profile.LEFT:
        lift = (1 - t) ** 1.05
    elif profile is Profile.RIGHT:
        lift = t**1.05
    elif profile is Profile.ISLAND:
        lift = max(0.0, 1 - abs(t - 0.52) / 0.47) ** 1.15
    else:
        lift = (abs(t - 0.52) / 0.52) ** 1.15
    return float(_LOW + 0.62 * min(1.0, lift))


def mass(tank: TankShape, ground: Ground) -> Height:
    """Height of the mass of plants above the bed at x [cm].

    Groups with real heights replace the profile as soon as there are any at the back; what
    lies far behind them keeps its line.
    """
    free = tank.height * 0.93
    groups = [
        g for g in tank.plants if g.place in (Place.BACKGROUND, Place.MIDGROUND) and g.height_mm > 0
    ]
    if not any(g.place is Place.BACKGROUND for g in groups):
        growth = GROWTH[tank.stage]
        return lambda x: growth * free * crown(tank.profile, x / tank.length)

    far = 0.5 * GROWTH[tank.stage] * free

    def height(x: float) -> float:
        t = x / tank.length
        tallest = far * crown(tank.profile, t)
        for group in groups:
            middle, half = (group.start + group.end) / 2, (group.end - group.start) / 2 + 0.1
            inside = max(0.0, 1 - (abs(t - middle) / half) ** 2.4)
            top = min(group.height_mm / 10, ground.top(x) - 0.08 * tank.height)
            tallest = max(tallest, inside * top)
        return tallest

    return height


def hills(tank: TankShape, ground: Ground, height: Height, detail: Detail, dice: Dice) -> str:
    """Both hills; a tank in its first weeks has only the near one."""
    step = _STEP[detail] * max(1.0, tank.length / (60 if detail is not Detail.PAGE else 92))
    near_only = GROWTH[tank.stage] < 0.4
    gaps = tank.stage is Stage.DECLINE
    out = ""
    if not near_only:
        out += path("p0", _scallops(tank, ground, lambda x: height(x) * 1.06, step, gaps, dice))
    return out + path("p1", _scallops(tank, ground, lambda x: height(x) * 0.86, step, gaps, dice))


def _scallops(
    tank: TankShape, ground: Ground, height: Height, step: float, gaps: bool, dice: Dice
) -> str:
    bottom, length = n(tank.height), tank.length
    spread = 0.045 * tank.height
    x, y = 0.0, ground.top(0) - height(0) + dice.around(spread)
    out = [f"M0 {bottom}L0 {n(y)}"]
    while x < length - 0.01:
        nxt = min(length, x + 2 * step)
        sunk = 0.55 if gaps and dice.roll() < 0.3 else 1.0
        rough = dice.around(spread) * min(1.0, height(nxt) / (6 * spread) + 0.25)
        new = ground.top(nxt) - height(nxt) * sunk + rough
        out.append(f"Q{n((x + nxt) / 2)} {n(min(y, new) - 1.1 * step)} {n(nxt)} {n(new)}")
        x, y = nxt, new
    out.append(f"L{n(length)} {bottom}Z")
    return "".join(out)
