"""One estimate on a line: round ends, words that stay on it, nothing off the line."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gallery_ops.drawing.scale import Band, Mark, Scale, scale_svg, tick_of, ticks, top_of

pytestmark = pytest.mark.once


@given(st.floats(1e-6, 1e7))
@example(0.0625)
def test_a_line_ends_round_and_has_few_ticks(value):
    top = top_of([value])
    assert value < top
    assert 2 <= len(ticks(top)) <= 9
    assert ticks(top)[-1] == pytest.approx(top, rel=1e-6)
    assert re.fullmatch(r"[125](\.0+)?e[+-]\d+", f"{tick_of(top):.1e}")


def test_every_part_stands_on_the_line_and_is_spoken():
    scale = Scale(
        top=60,
        unit="mg/L",
        likely=Mark(36, "likely 36"),
        low=25,
        high=80,
        target=Band(20, 30, "planted show, 20 to 30"),
        limit=Mark(20, "upper aim, 20"),
        beads=[Mark(5, "now")],
        under=[Mark(15, "blue"), Mark(90, "yellow")],
    )
    svg = scale_svg(scale, "Likely <36>", [f"{value:g}" for value in ticks(60)])
    root = ElementTree.fromstring(svg)  # noqa: S314 (made by ourselves)
    assert root.attrib["aria-label"] == "Likely <36>"
    assert "blue" in svg
    assert "yellow" not in svg, "it lies beyond the end of the line"
    parts = [float(x) for x in re.findall(r'(?:x|x1|x2|cx|width)="(-?[\d.]+)%"', svg)]
    assert parts
    assert all(0 <= part <= 100 for part in parts)
    assert "style=" not in svg


def test_words_stand_on_the_side_that_has_room():
    def side(at):
        scale = Scale(top=10, unit="", limit=Mark(at, "limit"))
        return scale_svg(scale, "x", [f"{value:g}" for value in ticks(10)])

    assert 'x="8">limit' in side(2)
    assert 'text-anchor="end">limit' in side(9)
    assert "limit<" not in side(11)
