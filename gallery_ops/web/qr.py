"""The square on a label: which address it holds, and how it is drawn.

Error level Q, so that a quarter of it may be hidden by glare or a scratch, and four modules of
white around it (ISO/IEC 18004). The module is made so large that the pattern without its white
border measures at least 27 mm.
"""

from __future__ import annotations

import math
from io import BytesIO

import segno

LEVEL = "Q"
QUIET_MODULES = 4
LEAST_MM = 27.0


def square(text: str) -> segno.QRCode:
    """The code of this text at level Q, never at another."""
    return segno.make_qr(text, error=LEVEL, boost_error=False)


def module_mm(modules: int) -> float:
    """Width of a module so that so many of them measure 27 mm or a little more [mm]."""
    return math.ceil(LEAST_MM / modules * 100) / 100


def square_svg(text: str) -> str:
    """The drawn code with its white border, in millimetres and by attributes only.

    It is silent: the address stands beside it in letters.
    """
    code = square(text)
    modules = len(code.matrix)
    side = module_mm(modules) * (modules + 2 * QUIET_MODULES)
    out = BytesIO()
    code.save(
        out, kind="svg", border=QUIET_MODULES, dark="#000", light="#fff", omitsize=True,
        xmldecl=False, svgns=False, nl=False, svgclass="qr", lineclass=None,
    )  # fmt: skip
    return (
        out.getvalue()
        .decode()
        .replace(
            "<svg ",
            f'<svg width="{side:.2f}mm" height="{side:.2f}mm" shape-rendering="crispEdges" '
            'aria-hidden="true" focusable="false" ',
            1,
        )
    )
