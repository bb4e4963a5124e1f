"""Ground: the slope that everything stands on, and the carpet that grows from it."""

from gallery_ops.drawing.seed import Dice
from gallery_ops.drawing.svg import n, path
from gallery_ops.drawing.types import Detail, Place, PlantGroup, Profile, TankShape

# Tufts of carpet per centimetre of a 90 cm glass.
_TUFTS = {Detail.WALK: 0.62, Detail.WALL: 1.05, Detail.PAGE: 1.65}
_STEPS = {Detail.WALK: 8, Detail.WALL: 12, Detail.PAGE: 14}


def rise(profile: Profile, t: float) -> float:
    """How much of the slope stands at t (0 left, 1 right); 0..1."""
    if profile is Profile.LEFT:
        return float((1 - t) ** 1.7)
    if profile is Profile.RIGHT:
        return float(t**1.7)
    if profile is Profile.ISLAND:
        return float((1 - abs(2 * t - 1)) ** 1.2) * 0.45
    return float(abs(2 * t - 1) ** 1.7) * 0.28


class Ground:
    """Height of the bed along the front [cm from the rim]."""

    def __init__(self, tank: TankShape) -> None:
        self.height = tank.height
        self.length = tank.length
        self.profile = tank.profile
        self._base = 0.064 * tank.height
        self._slope = 0.075 * tank.height

    def depth(self, x: float) -> float:
        """Depth of the bed at x [cm]."""
        t = min(1.0, max(0.0, x / self.length))
        return self._base + self._slope * rise(self.profile, t)

    def top(self, x: float) -> float:
        """Upper edge of the bed at x, counted from the rim [cm]."""
        return self.height - self.depth(x)

    def layers(self, detail: Detail) -> str:
        """The two layers of the bed."""
        steps = _STEPS[detail]
        out = []
        for css, part in (("sb", 1.0), ("sb2", 0.41)):
            points = "L".join(
                f"{n(x)} {n(self.height - self.depth(x) * part)}"
                for x in (self.length * i / steps for i in range(steps + 1))
            )
            out.append(
                path(css, f"M0 {n(self.height)}L{points}L{n(self.length)} {n(self.height)}Z")
            )
        return "".join(out)


def carpet(tank: TankShape, ground: Ground, detail: Detail, cover: float, dice: Dice) -> str:
    """Tufts along the bed, fewer while young (cover 0..1)."""
    groups = tuple(g for g in tank.plants if g.place is Place.FOREGROUND)
    if (tank.plants and not groups) or cover <= 0:
        return ""
    gap = max(1.0, tank.length / 90) / _TUFTS[detail] / max(0.35, cover)
    x, out = 0.5, []
    while x < tank.length - 0.3:
        high = _tuft_height(groups, x / tank.length, tank.height, cover)
        lean = dice.around(0.6)
        size = dice.between(0.55, 1.15) * high
        if high > 0:
            out.append(f"M{n(x)} {n(ground.top(x) + 0.5)}l{n(lean)} {n(-size)}")
        x += gap * dice.between(0.65, 1.35)
    return path("q3", "".join(out))


def _tuft_height(groups: tuple[PlantGroup, ...], t: float, height: float, cover: float) -> float:
    usual = 0.012 * height + 0.95
    if not groups:
        return usual
    for group in groups:
        if group.start - 0.01 <= t <= group.end + 0.01:
            real = (group.height_mm / 10 or usual) * (0.45 + 0.55 * cover)
            return min(max(real, 0.6), 0.14 * height)
    return 0.0
