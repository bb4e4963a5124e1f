"""Are cylinders drawn at one scale, and does a room's line say its number with a shape?"""

import re
from datetime import date, timedelta

import pytest

from gallery_ops.drawing.cylinder import (
    Piece,
    Post,
    Reach,
    cylinder_svg,
    gas_use_svg,
    months,
    reach_svg,
    room_line_svg,
)
from gallery_ops.drawing.strip import Axis

pytestmark = pytest.mark.once

POSTS = (Post(5_000, "5,000, 8 hours"), Post(15_000, "15,000, 15 minutes"))
AXIS = Axis(first=date(2026, 3, 12), days=184)


def _tall(svg):
    return 98 - float(re.search(r'class="o" d="M[\d.]+ 98V([\d.]+)', svg)[1])


def test_a_larger_fill_is_drawn_larger_and_the_content_by_its_part():
    heights = [_tall(cylinder_svg(kg, 0.5)) for kg in (0.5, 2, 5, 10)]
    assert heights == sorted(set(heights))
    assert _tall(cylinder_svg(60, 1)) <= 92
    empty, full = cylinder_svg(2, 0), cylinder_svg(2, 3)
    assert float(re.search(r'class="f" d="M[\d.]+ ([\d.]+)', empty)[1]) == 98
    assert float(re.search(r'class="f" d="M[\d.]+ ([\d.]+)', full)[1]) < 60


@pytest.mark.parametrize(
    ("ppm", "step", "shape", "at"),
    [(2_264, 0, "circle", "17.74%"), (7_344, 1, "M-9 -3", "43.30%"), (25_880, 2, "M-19", "70.65%")],
)
def test_shape_place_and_number_go_together(ppm, step, shape, at):
    svg = room_line_svg(ppm, step, POSTS, sentence=f"{ppm} ppm", number=f"{ppm:,}")
    assert shape in svg
    assert f'<svg x="{at}"' in svg
    assert f">{ppm:,}</text>" in svg
    assert 'x1="34.95%"' in svg
    assert 'x1="58.80%"' in svg
    assert f'aria-label="{ppm} ppm"' in svg


def test_without_a_number_only_the_posts_stand_and_none_leaves_the_line():
    assert "<svg x=" not in room_line_svg(None, 0, POSTS, sentence="no number")
    assert '<svg x="100.00%"' in room_line_svg(400_000, 2, POSTS, sentence="much", number="400,000")
    assert '<svg x="0.00%"' in room_line_svg(120, 0, POSTS, sentence="little", number="120")


def test_each_period_is_one_flat_piece_and_more_is_higher():
    svg = gas_use_svg([Piece(7.9, "7.9"), Piece(None, "?"), Piece(11.2, "11.2")], 8.0, sentence="s")
    flat = re.findall(r'class="l" x1="[\d.]+%" x2="[\d.]+%" y1="([\d.]+)" y2="([\d.]+)"', svg)
    assert len(flat) == 2
    assert all(first == second for first, second in flat)
    assert float(flat[1][0]) < float(flat[0][0])
    assert svg.count('class="s"') == 2


def test_words_are_no_markup():
    svg = gas_use_svg([Piece(1.0, "<b>")], None, sentence='"<script>')
    assert "<b>" not in svg
    assert "<script>" not in svg


def test_months_and_the_reach_stay_on_the_axis():
    assert [day.month for day in months(AXIS)] == [4, 5, 6, 7, 8, 9]
    far = AXIS.first + timedelta(days=400)
    svg = reach_svg(Reach(earliest=far, likely=far, latest=far, act_by=far), AXIS)
    assert 'class="end"' not in svg
    assert "flag" not in svg
    open_ended = reach_svg(Reach(earliest=AXIS.first + timedelta(days=92)), AXIS)
    assert 'x1="50.00%" x2="100.00%"' in open_ended
