"""Stones, steps and wood of one tank, and what grows on them."""

from gallery_ops.drawing.ground import Ground
from gallery_ops.drawing.hills import GROWTH
from gallery_ops.drawing.mounds import mound
from gallery_ops.drawing.seed import Dice
from gallery_ops.drawing.stone import group, steps, stone
from gallery_ops.drawing.svg import Point, path
from gallery_ops.drawing.types import (
    Detail,
    Hardscape,
    Leaf,
    Place,
    PlantGroup,
    Rock,
    TankShape,
)
from gallery_ops.drawing.wood import root, tufts

TONE = {Leaf.LIGHT: "p2", Leaf.GREEN: "p2", Leaf.DARK: "p3", Leaf.RED: "p4"}
_TIPS = {Detail.WALK: 26, Detail.WALL: 44, Detail.PAGE: 64}  # tips of wood that carry leaves


def hardscape(tank: TankShape, ground: Ground, detail: Detail) -> tuple[str, str]:
    """What stands behind the plants, and the steps that stand before them."""
    behind, before, tips = [], [], []
    for i, piece in enumerate(tank.hardscape):
        dice = Dice(f"{tank.code}|{tank.version}|{piece.kind}{i}")
        tall = piece.height_mm / 10
        wide = piece.width_mm / 10
        if piece.kind is Rock.STEP:
            wide, tall = wide or 0.1 * tank.length, tall or 0.14 * tank.height
            before.append(steps(ground, piece.at, wide, tall, 0, count=1))
        elif piece.kind is Rock.STEPS:
            wide = wide or 0.43 * tank.length
            tall = tall or 0.21 * tank.height
            before.append(steps(ground, piece.at, wide, tall, piece.leans))
        elif piece.kind is Rock.STONES:
            tall = tall or 0.66 * tank.height
            wide = wide or min(tall * 1.05, 0.5 * tank.length)
            behind.append(group(ground, piece.at, wide, tall, detail, dice))
        elif piece.kind is Rock.STONE:
            tall = min(tall or 0.4 * tank.height, 0.86 * tank.height)
            wide = min(wide or tall * 0.6, 0.8 * tank.length)
            left = min(max(piece.at * tank.length - wide / 2, 0.3), tank.length - wide - 0.3)
            foot = ground.top(left + wide / 2) + 1
            behind.append(stone(left, foot, wide, tall + 1, dice))
        else:
            text, ends = _root(piece, tall, tank, ground, detail, dice)
            behind.append(text)
            tips += ends
    dice = Dice(f"{tank.code}|{tank.version}|tufts")
    return "".join(behind) + _on_wood(tank, ground, tips, detail, dice), "".join(before)


def _root(
    piece: Hardscape, tall: float, tank: TankShape, ground: Ground, detail: Detail, dice: Dice
) -> tuple[str, list[Point]]:
    x = piece.at * tank.length
    thick = min(0.075 * tank.height, 0.13 * (tall or tank.height) + 0.8)
    foot = (x, min(ground.top(x) + 1.4, tank.height - thick / 2 - 0.4))
    free = foot[1] - 0.07 * tank.height
    tall = min(tall or 0.78 * tank.height, free)
    room = (tank.length - x if piece.at < 0.5 else x) - 1
    leans = piece.leans or (1 if piece.at < 0.42 else -1 if piece.at > 0.58 else 0)
    reach = min(tall * 0.46, 0.215 * tank.length, room * 0.5)
    top, wide = foot[1] - tall, tank.length
    return root(foot, reach, thick, leans, detail, dice, top=top, wide=wide)


def _on_wood(tank: TankShape, ground: Ground, tips: list[Point], detail: Detail, dice: Dice) -> str:
    cover = GROWTH[tank.stage]
    if cover <= 0:
        return ""
    size = 0.04 * tank.height + 1
    tips = tips[:: max(1, round(len(tips) / _TIPS[detail]))]
    if not tank.plants:
        return tufts(tips, size, 0.35 + 0.65 * cover, detail, dice, wide=tank.length)
    out = ""
    for plant in tank.plants:
        if plant.place is Place.EPIPHYTE:
            spots = tips or _on_bed(plant, tank, ground)
            real = min(max(plant.height_mm / 40, 1.4), 0.12 * tank.height) or size
            css = "p3" if plant.leaf in (Leaf.GREEN, Leaf.DARK) else TONE[plant.leaf]
            out += tufts(spots, real, 0.35 + 0.65 * cover, detail, dice, wide=tank.length, css=css)
        elif plant.place is Place.MOSS:
            pads = [
                mound(
                    min(max(x, 2), tank.length - 2),
                    y + 0.7,
                    1.5 * max(0.5, cover) * dice.between(0.8, 1.4),
                    1.1,
                    dice,
                )
                for x, y in (tips or _on_bed(plant, tank, ground))[
                    :: 2 if detail is Detail.WALK else 1
                ]
            ]
            out += path(TONE[plant.leaf], "".join(pads))
    return out


def _on_bed(plant: PlantGroup, tank: TankShape, ground: Ground) -> list[Point]:
    """Where plants of stone and wood sit when no wood stands in the glass."""
    count = max(2, round((plant.end - plant.start) * 9))
    wide = plant.end - plant.start
    places = [(plant.start + wide * (i + 0.5) / count) * tank.length for i in range(count)]
    return [(x, ground.top(x) - 0.04 * tank.height) for x in places]
