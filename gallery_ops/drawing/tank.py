"""The front view of one tank, layer by layer."""

from functools import lru_cache

from gallery_ops.drawing.animals import school
from gallery_ops.drawing.ground import Ground, carpet
from gallery_ops.drawing.hardscape import hardscape
from gallery_ops.drawing.hills import GROWTH, hills, mass
from gallery_ops.drawing.planting import floating, mounds, plant_keys, stems
from gallery_ops.drawing.seed import Dice, seed_of
from gallery_ops.drawing.svg import escape, n
from gallery_ops.drawing.types import Detail, Stage, TankShape

TINTS = {"float": "gl-f", "low_iron": "gl-c"}
"""Kind of glass -> the look of its edge: greenish by its iron, or nearly clear (common practice,
no source)."""


def waterline(tank: TankShape) -> float:
    """Distance from rim to water: 2 to 3 cm, as it is filled in practice [cm]."""
    return min(3.0, max(2.0, 0.062 * tank.height))


def glass(tank: TankShape, css: str = "gl", at: tuple[float, float] = (0, 0)) -> str:
    """Three sides of glass, open at the top; its edge has the tint of its kind."""
    x, y = at
    width = n(max(0.5, tank.glass_mm / 10))
    if css == "gl" and tank.kind_of_glass in TINTS:
        css = f"gl {TINTS[tank.kind_of_glass]}"
    return (
        f'<path class="{css}" stroke-width="{width}" '
        f'd="M{n(x)} {n(y)}V{n(y + tank.height)}H{n(x + tank.length)}V{n(y)}"/>'
    )


@lru_cache(maxsize=4096)
def front_view(
    tank: TankShape,
    detail: Detail = Detail.PAGE,
    *,
    lamp: bool = False,
    numbered: bool = False,
    key: str = "",
) -> str:
    """Elements of the front view, origin at the upper left corner of the glass.

    lamp : a lamp above and its beam (page only)
    numbered : small numbers at the plant groups
    key : makes the ids of the gradients differ when one page shows a tank twice
    """
    if tank.stage.is_empty:
        return glass(tank, "gl gl-e")
    lines = waterline(tank)
    ground = Ground(tank)
    cover = GROWTH[tank.stage]
    height = mass(tank, ground)
    out = []
    if not tank.stage.is_dry:
        out.append(_water(tank, lines, lamp, f"{detail.value[3]}{_short(tank)}{key}"))
    if cover > 0:
        out.append(hills(tank, ground, height, detail, _dice(tank, "hills")))
    behind, before = hardscape(tank, ground, detail)
    out.append(behind)
    if cover > 0:
        out.append(stems(tank, ground, height, detail, _dice(tank, "stems")))
        out.append(mounds(tank, ground, _dice(tank, "mounds")))
    out += [before, ground.layers(detail)]
    out.append(carpet(tank, ground, detail, cover, _dice(tank, "carpet")))
    if not tank.stage.is_dry:
        if tank.has_animals and tank.stage is not Stage.START_UP:
            out.append(school(tank, lines, detail, _dice(tank, "school")))
        out.append(f'<path class="lv" d="M0 {n(lines)}H{n(tank.length)}"/>')
        out.append(floating(tank, lines, _dice(tank, "floating")))
    out.append(glass(tank))
    if numbered:
        out.append(plant_keys(tank, ground))
    return "".join(out)


def view_box(tank: TankShape, *, lamp: bool = False, margin: float = 1.2) -> str:
    """The part of the plane that holds the drawing."""
    top = 9.0 if lamp else margin
    return f"{n(-margin)} {n(-top)} {n(tank.length + 2 * margin)} {n(tank.height + top + margin)}"


def svg(
    tank: TankShape,
    detail: Detail = Detail.PAGE,
    *,
    css: str = "",
    label: str | None = None,
    px_per_cm: float | None = None,
    lamp: bool = False,
    numbered: bool = False,
    key: str = "",
) -> str:
    """A whole inline drawing.

    label : read out; without one the drawing is decoration beside its caption
    px_per_cm : fixed size, so that all tanks of a page share one scale; None fills its place
    """
    size = ""
    margin = 1.2
    if px_per_cm is not None:
        margin = 0.6
        wide, high = tank.length + 2 * margin, tank.height + 2 * margin
        size = f' width="{round(wide * px_per_cm)}" height="{round(high * px_per_cm)}"'
    named = (
        'aria-hidden="true" focusable="false"'
        if label is None
        else f'role="img" aria-label="{escape(label)}"'
    )
    return (
        f'<svg class="{f"elev {css}".strip()}"{size} '
        f'viewBox="{view_box(tank, lamp=lamp, margin=margin)}" {named}>'
        f"{front_view(tank, detail, lamp=lamp, numbered=numbered, key=key)}</svg>"
    )


def _dice(tank: TankShape, layer: str) -> Dice:
    return Dice(f"{tank.code}|{tank.version}|{layer}")


def _short(tank: TankShape) -> str:
    return f"{seed_of(f'{tank.code}|{tank.version}') & 0xFFFFFFFFFF:010x}"


def _water(tank: TankShape, lines: float, lamp: bool, ident: str) -> str:
    length, height = n(tank.length), tank.height
    out = (
        f'<linearGradient id="w{ident}" x1="0" x2="0" y1="0" y2="1">'
        '<stop class="g-top" offset="0"/><stop class="g-deep" offset="1"/></linearGradient>'
        f'<rect fill="url(#w{ident})" x="0" y="{n(lines)}" width="{length}" '
        f'height="{n(height - lines)}"/>'
    )
    if not lamp:
        return out
    edge, far = tank.length * 0.1, tank.length * 0.9
    cord, lower = tank.length * 0.3, tank.length * 0.7
    out += (
        f'<linearGradient id="b{ident}" x1="0" x2="0" y1="0" y2="1">'
        '<stop class="g-beam" offset="0"/><stop class="g-beam0" offset="1"/></linearGradient>'
        f'<path fill="url(#b{ident})" d="M{n(edge)} {n(lines)}H{n(far)}L{length} {n(height)}H0Z"/>'
        f'<path class="lampcord" d="M{n(cord)} -9V-5.4M{n(lower)} -9V-5.4"/>'
        f'<path class="lamp" d="M{n(tank.length * 0.14)} -5.4H{n(tank.length * 0.86)}V-4'
        f'H{n(tank.length * 0.14)}Z"/>'
    )
    return out
