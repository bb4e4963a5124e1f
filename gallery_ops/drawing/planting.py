"""Stems, mounds and floating leaves of one tank."""

from collections.abc import Iterator

from gallery_ops.drawing.ground import Ground
from gallery_ops.drawing.hardscape import TONE
from gallery_ops.drawing.hills import GROWTH, Height
from gallery_ops.drawing.mounds import mound
from gallery_ops.drawing.seed import Dice
from gallery_ops.drawing.stems import stand, thinning
from gallery_ops.drawing.svg import n, path
from gallery_ops.drawing.types import (
    Detail,
    Leaf,
    Place,
    PlantGroup,
    Profile,
    Stage,
    TankShape,
)

_BACK = {
    Profile.LEFT: ((0.03, 0.34, 1.0), (0.36, 0.62, 0.5)),
    Profile.RIGHT: ((0.66, 0.97, 1.0), (0.4, 0.62, 0.5)),
    Profile.VALLEY: ((0.02, 0.28, 1.0), (0.7, 0.98, 1.0)),
    Profile.ISLAND: ((0.3, 0.52, 0.8), (0.52, 0.76, 0.9)),
}
# Tone of the row behind and of the row before it, by colour of the leaf.
_MOUND = {
    Leaf.LIGHT: ("p2", "p3"),
    Leaf.GREEN: ("p2", "p3"),
    Leaf.DARK: ("p3", "p2"),
    Leaf.RED: ("p4", "p3"),
}
_LOW = {
    Profile.LEFT: (0.08, 0.84),
    Profile.RIGHT: (0.14, 0.92),
    Profile.VALLEY: (0.06, 0.94),
    Profile.ISLAND: (0.16, 0.86),
}


def stems(tank: TankShape, ground: Ground, height: Height, detail: Detail, dice: Dice) -> str:
    """Stands of stems at the back: real groups, or as the profile suggests."""
    tones: dict[str, list[str]] = {}
    stands = list(_stands(tank, ground, height))
    sizes = [((b - a) * tank.length, h((a + b) / 2 * tank.length)) for a, b, h, _ in stands]
    thin = thinning(sizes, detail.value, tank.length)
    for start, end, tall, leaf in stands:
        light, dark = stand(
            start * tank.length,
            end * tank.length,
            detail.value,
            tank.length,
            thin=thin,
            foot=ground.top,
            height=tall,
            dice=dice,
        )
        first, second = _strokes(leaf)
        tones.setdefault(first, []).append(light)
        tones.setdefault(second, []).append(dark)
    return "".join(path(css, "".join(tones[css])) for css in sorted(tones))


def _stands(
    tank: TankShape, ground: Ground, height: Height
) -> Iterator[tuple[float, float, Height, Leaf]]:
    if tank.plants:
        for g in tank.plants:
            if g.place is Place.BACKGROUND:
                usual = 0.55 * tank.height * GROWTH[tank.stage]
                yield g.start, g.end, _dome(g, g.height_mm / 10 or usual, tank, ground), g.leaf
        return
    thin = 0.72 if tank.stage is Stage.DECLINE else 0.86
    for start, end, part in _BACK[tank.profile]:
        yield start, end, _part(height, thin * part, 1.5 if part < 1 else 0), Leaf.GREEN


def _dome(g: PlantGroup, top: float, tank: TankShape, ground: Ground) -> Height:
    """Real height in the middle of the group, lower at its edges, never out of the water."""
    middle, half = (g.start + g.end) / 2 * tank.length, (g.end - g.start) / 2 * tank.length + 0.1

    def height(x: float) -> float:
        edge = 1 - 0.3 * float(abs((x - middle) / half) ** 2.2)
        return min(top * edge, ground.top(x) - 0.09 * tank.height)

    return height


def _part(height: Height, part: float, more: float) -> Height:
    return lambda x: height(x) * part + more


def _strokes(leaf: Leaf) -> tuple[str, str]:
    if leaf is Leaf.RED:
        return "q4", "q5"
    if leaf is Leaf.LIGHT:
        return "q1", "q1"
    return ("q2", "q1") if leaf is Leaf.DARK else ("q1", "q2")


def mounds(tank: TankShape, ground: Ground, dice: Dice) -> str:
    """Low rounded plants before the stems: lighter behind, darker before."""
    growth = GROWTH[tank.stage]
    groups = [g for g in tank.plants if g.place is Place.MIDGROUND]
    rows: list[tuple[str, str]] = []
    if groups:
        for g in groups:
            real = g.height_mm / 10 or 0.16 * tank.height * growth
            top = min(real, 0.42 * tank.height)
            half = min(top * 1.05, 4.5 + 0.028 * tank.length)
            back, front = _MOUND[g.leaf]
            rows.append((back, _row(tank, ground, g.start, g.end, top, half, dice)))
            near = _row(
                tank,
                ground,
                g.start + 0.7 * half / tank.length,
                g.end,
                top * 0.55,
                half * 0.8,
                dice,
            )
            rows.append((front, near))
    elif not tank.plants:
        start, end = _LOW[tank.profile]
        tall = (0.035 + 0.11 * growth) * tank.height
        rows.append(("p2", _row(tank, ground, start, end, tall, tall * 1.3, dice)))
        near = _row(tank, ground, start + 0.04, end + 0.02, tall * 0.8, tall * 1.1, dice)
        rows.append(("p3", near))
    return "".join(path(css, d) for css, d in rows)


def _row(
    tank: TankShape, ground: Ground, start: float, end: float, tall: float, half: float, dice: Dice
) -> str:
    if tall < 0.7:
        return ""
    x, stop = start * tank.length + half * 0.6, end * tank.length
    out: list[str] = []
    half = max(half, tank.length / 40)
    while x < stop - half * 0.3 or not out:
        wide = half * dice.between(0.62, 1.15)
        high = tall * dice.between(0.62, 1.08)
        middle = min(max(x, wide * 0.7), tank.length - wide * 0.7)
        wide = min(wide, middle + 0.4, tank.length - middle + 0.4)
        out.append(mound(middle, ground.top(middle) + 1.2, wide, high + 1, dice))
        x += half * dice.between(1.3, 2.5)
    return "".join(out)


def floating(tank: TankShape, waterline: float, dice: Dice) -> str:
    """Leaves on the water, with short roots."""
    out = ""
    for g in tank.plants:
        if g.place is not Place.FLOATING:
            continue
        x, leaves, roots = g.start * tank.length + 1.5, [], []
        while x < g.end * tank.length - 1:
            wide = dice.between(1.0, 1.7)
            leaves.append(
                f"M{n(x - wide)} {n(waterline)}q{n(wide)} -2.2 {n(2 * wide)} 0"
                f"q{n(-wide)} 1.6 {n(-2 * wide)} 0Z"
            )
            roots.append(f"M{n(x)} {n(waterline)}l{n(dice.around(0.5))} {n(dice.between(1, 2.4))}")
            x += dice.between(2.4, 4.6)
        out += path("q1", "".join(roots)) + path(TONE[g.leaf], "".join(leaves))
    return out


def plant_keys(tank: TankShape, ground: Ground) -> str:
    """A number at each group of plants: its own, else its place in the order of the groups."""
    out: list[str] = []
    taken: list[tuple[float, float]] = []
    for i, g in enumerate(tank.plants, start=1):
        x, y = _free_spot(tank, ground, g, taken)
        taken.append((x, y))
        out.append(
            f'<g transform="translate({n(x)} {n(y)}) scale({n(_key_size(tank))})">'
            f'<circle r="2.6"/><text y="1.1">{g.number or i}</text></g>'
        )
    return f'<g class="key">{"".join(out)}</g>' if out else ""


def _key_size(tank: TankShape) -> float:
    """How large a number is drawn: smaller in glass under 60 cm, larger over 90 cm."""
    return min(1.0, tank.length / 60) if tank.length < 90 else tank.length / 90


def _free_spot(
    tank: TankShape, ground: Ground, g: PlantGroup, taken: list[tuple[float, float]]
) -> tuple[float, float]:
    """A place for the number inside its group, clear of the numbers before it."""
    size = _key_size(tank)
    apart = 6.0 * size
    spots = []
    for part in (0.5, 0.3, 0.7, 0.15, 0.85):
        x = (g.start + (g.end - g.start) * part) * tank.length
        top = ground.top(x)
        tall = min(g.height_mm / 10, top - 0.12 * tank.height)
        y = {
            Place.FOREGROUND: top + 0.4,
            Place.FLOATING: 0.1 * tank.height,
            Place.EPIPHYTE: 0.36 * tank.height,
            Place.MOSS: 0.5 * tank.height,
        }.get(g.place, top - 0.55 * max(tall, 3))
        spots.append((x, max(y, 2.8 * size)))
    edge = 3.2 * size
    beside = [(x, y + up * apart) for up in (-1, 1, -2, 2) for x, y in spots]
    inside = [(x, y) for x, y in beside if edge <= y <= tank.height - edge]
    for x, y in spots + inside:
        if all((x - a) ** 2 + (y - b) ** 2 >= apart**2 for a, b in taken):
            return x, y
    return spots[0]
