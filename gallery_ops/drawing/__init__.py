"""How does a tank look from the front, to scale?

The one drawing module of the house. It knows no database and no request: plain frozen
values go in, SVG text comes out, and the same values give the same text on every machine.
Geometry stands in attributes and looks in classes, so that a strict content policy holds and
the style sheet colours every drawing for day, night and show hours.

One unit is one centimetre. Layers, back to front: water, two far hills of foliage,
hardscape, stems, mounds, ground, carpet, animals, waterline, glass.
"""

from gallery_ops.drawing.band import FEWEST, Reading, band_svg
from gallery_ops.drawing.container import container_svg
from gallery_ops.drawing.day_line import Hours, Work, day_line, hours_axis
from gallery_ops.drawing.layers import layers_svg
from gallery_ops.drawing.marks import MARKS, mark
from gallery_ops.drawing.outlines import Outline, outlines, outlines_length
from gallery_ops.drawing.standalone import STYLE, STYLE_HASH, content_hash, standalone
from gallery_ops.drawing.steps import Step, steps_svg
from gallery_ops.drawing.strip import (
    Axis,
    Level,
    axis_svg,
    level_of,
    strip_svg,
)
from gallery_ops.drawing.tank import front_view, svg, view_box
from gallery_ops.drawing.types import (
    Detail,
    Hardscape,
    Leaf,
    Place,
    PlantGroup,
    Profile,
    Rock,
    Stage,
    State,
    TankShape,
)
from gallery_ops.drawing.walk import Stop, floors, walk, walk_length
from gallery_ops.drawing.wall import WallPiece, hang, wall_piece

__all__ = [
    "FEWEST",
    "MARKS",
    "STYLE",
    "STYLE_HASH",
    "Axis",
    "Detail",
    "Hardscape",
    "Hours",
    "Leaf",
    "Level",
    "Outline",
    "Place",
    "PlantGroup",
    "Profile",
    "Reading",
    "Rock",
    "Stage",
    "State",
    "Step",
    "Stop",
    "TankShape",
    "WallPiece",
    "Work",
    "axis_svg",
    "band_svg",
    "container_svg",
    "content_hash",
    "day_line",
    "floors",
    "front_view",
    "hang",
    "hours_axis",
    "layers_svg",
    "level_of",
    "mark",
    "outlines",
    "outlines_length",
    "standalone",
    "steps_svg",
    "strip_svg",
    "svg",
    "view_box",
    "walk",
    "walk_length",
    "wall_piece",
]
