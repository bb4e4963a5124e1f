"""The wall: one room after another, every tank at the same scale above its caption."""

from collections.abc import Sequence
from dataclasses import dataclass

from gallery_ops.drawing.tank import svg
from gallery_ops.drawing.types import Detail, TankShape

PX_PER_CM = 1.5
_CAPTION_PX = 104
_GAP_PX = 12


@dataclass(frozen=True, slots=True)
class WallPiece:
    """A drawing for the wall with its size on the screen [px]."""

    code: str
    svg: str
    width_px: int
    height_px: int


def wall_piece(tank: TankShape, px_per_cm: float = PX_PER_CM, key: str = "") -> WallPiece:
    """One tank of the wall, decoration beside its caption."""
    text = svg(tank, Detail.WALL, px_per_cm=px_per_cm, key=key)
    wide = round((tank.length + 1.2) * px_per_cm)
    return WallPiece(tank.code, text, wide, round((tank.height + 1.2) * px_per_cm))


def hang(
    tanks: Sequence[TankShape], px_per_cm: float = PX_PER_CM, room_px: int = 1216
) -> list[tuple[TankShape, ...]]:
    """Break a room into rows that fit the page side by side."""
    rows: list[list[TankShape]] = [[]]
    used = 0.0
    for tank in tanks:
        slot = max(_CAPTION_PX, (tank.length + 1.2) * px_per_cm) + _GAP_PX
        if rows[-1] and used + slot > room_px + _GAP_PX:
            rows.append([])
            used = 0.0
        rows[-1].append(tank)
        used += slot
    return [tuple(row) for row in rows if row]
