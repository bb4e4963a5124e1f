"""The drawing as a file of its own, for pages without our style sheet.

Both schemes stand inside and the device chooses. The file is named by its content, so its
address never changes what it shows and may be kept for ever.
"""

from base64 import b64encode
from dataclasses import astuple
from functools import lru_cache
from hashlib import sha256

from gallery_ops.drawing.palette import DARK, LIGHT
from gallery_ops.drawing.svg import escape
from gallery_ops.drawing.tank import front_view, view_box
from gallery_ops.drawing.types import Detail, TankShape

# Raise when the pictures change: old addresses then end and new ones begin.
EDITION = 3

_FILLS = {
    "p0": "plant-0", "p1": "plant-1", "p2": "plant-2", "p3": "plant-3", "p4": "plant-4",
    "st": "stone", "sh": "stone-lit", "sb": "bed", "sb2": "bed-deep", "fi": "fish",
}  # fmt: skip
_STROKES = {
    "q1": ("stem-1", ".62"), "q2": ("stem-2", ".7"), "q3": ("stem-3", ".5"),
    "q4": ("stem-4", ".62"), "q5": ("stem-5", ".7"), "lv": ("level", ".55"),
}  # fmt: skip


def _style() -> str:
    light = "".join(f"--{name}:{tone};" for name, tone in LIGHT.items())
    dark = "".join(f"--{name}:{tone};" for name, tone in DARK.items())
    rules = [f"svg{{{light}}}", f"@media(prefers-color-scheme:dark){{svg{{{dark}}}}}"]
    rules += [f".{css}{{fill:var(--{tone})}}" for css, tone in _FILLS.items()]
    rules += [
        f".{css}{{fill:none;stroke:var(--{tone});stroke-width:{width};stroke-linecap:round}}"
        for css, (tone, width) in _STROKES.items()
    ]
    rules += [
        ".wd{fill:none;stroke:var(--wood);stroke-linecap:round}",
        ".gl{fill:none;stroke:var(--ink-2)}",
        ".gl-f{stroke:var(--glass-float)}.gl-c{stroke:var(--glass-clear)}",
        ".gl-e{stroke:var(--edge);stroke-dasharray:2.4 1.8}",
        ".g-top{stop-color:var(--water-top)}.g-deep{stop-color:var(--water-deep)}",
        ".key circle{fill:var(--plinth);stroke:var(--ink);stroke-width:.3}",
        ".key text{fill:var(--ink);font:700 3.1px sans-serif;text-anchor:middle}",
    ]
    return "".join(rules)


STYLE = _style()
# What a policy header must name so that this one style, and no other, is obeyed.
STYLE_HASH = "sha256-" + b64encode(sha256(STYLE.encode()).digest()).decode()


def content_hash(tank: TankShape, detail: Detail = Detail.PAGE, *, numbered: bool = False) -> str:
    """Name of the drawing: 20 hexadecimal digits that depend on all it is made of."""
    text = repr((EDITION, detail.value, numbered, astuple(tank)))
    return sha256(text.encode()).hexdigest()[:20]


@lru_cache(maxsize=512)
def standalone(tank: TankShape, detail: Detail = Detail.PAGE, *, numbered: bool = False) -> str:
    """The whole file."""
    name = escape(f"{tank.name}, drawn front view, {tank.length:g} x {tank.height:g} cm")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="elev" viewBox="{view_box(tank)}" '
        f'role="img" aria-label="{name}"><title>{name}</title><style>{STYLE}</style>'
        f"{front_view(tank, detail, numbered=numbered)}</svg>"
    )
