"""Do the pictures of buying, of the report card and of what-if show their numbers to scale?"""

from __future__ import annotations

import re
from datetime import date, timedelta
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gallery_ops.drawing import Axis
from gallery_ops.drawing.promise import SlotWords, Spot, beads_svg, promise_svg, slots_svg, span_of
from gallery_ops.drawing.two_strips import Range, two_strips_svg
from gallery_ops.drawing.vessel import vessel_svg

pytestmark = pytest.mark.once
WORDS = SlotWords("sooner", "as likely", "later")


def parsed(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314  our own text


def tops(svg: str, css: str) -> tuple[float, float]:
    """Top and bottom of a filled part of a vessel."""
    found = re.search(rf'class="{css}" d="M4 ([\d.]+)H38V([\d.]+)H4Z"', svg)
    assert found
    return float(found[1]), float(found[2])


def test_left_and_added_are_to_one_scale() -> None:
    svg = vessel_svg(1, 3)
    (_, floor), (top, add_floor) = tops(svg, "now"), tops(svg, "add")
    left_high, add_high = floor - add_floor, add_floor - top
    assert floor == 48
    assert add_high == pytest.approx(3 * left_high, abs=0.2)
    assert 'class="cap"' not in svg
    assert 'aria-hidden="true"' in svg


@given(st.floats(0, 1e9), st.floats(0, 1e9), st.none() | st.floats(0, 1e9))
def test_a_vessel_never_runs_over(left: float, add: float, cap: float | None) -> None:
    svg = vessel_svg(left, add, cap)
    parsed(svg)
    for y in re.findall(r'class="(?:add|now)" d="M4 (-?[\d.]+)H', svg):
        assert 2 <= float(y) <= 48


def test_kept_water_stands_at_its_hundredth_and_the_promise_at_its_own() -> None:
    svg = promise_svg(80, 40, sentence="promised 80, kept 40")
    assert 'y="98.8"' in svg  # 150 - 128 x 0.40
    assert "M2 47.6H80" in svg  # 150 - 128 x 0.80
    assert 'aria-label="promised 80, kept 40"' in svg
    assert 'class="f"' not in promise_svg(80, None, sentence="")


def test_slots_rise_with_their_counts() -> None:
    svg = parsed(slots_svg([5, 10, 0, 5, 5, 5, 5, 5, 5, 5], 2.0, 9.0, WORDS, sentence="<ten>"))
    high = [float(rect.get("height") or 0) for rect in svg.iter("rect")][1:]
    assert high[1] == pytest.approx(2 * high[0])
    assert high[2] == 0
    assert svg.get("aria-label") == "<ten>"


def test_beads_stack_and_stay_on_the_line() -> None:
    svg = beads_svg([Spot(0.0, True), Spot(0.1, True), Spot(500.0, False)], -2, 3, 12, sentence="")
    where = re.findall(r'class="([ix])" cx="([\d.]+)%" cy="([\d.]+)"', svg)
    assert where[0][:2] == ("i", "50.00")
    assert float(where[1][2]) < float(where[0][2])
    assert where[2][:2] == ("x", "100.00")


def test_the_span_holds_all_days() -> None:
    assert [span_of(days) for days in ([], [5.5, -6], [-7], [399], [450])] == [
        6, 6, 12, 400, 500,
    ]  # fmt: skip


def test_two_strips_share_one_axis_and_leave_out_what_lies_beyond() -> None:
    first = date(2026, 3, 12)
    axis = Axis(first, 56, (first + timedelta(days=14),))
    near = Range(
        first + timedelta(days=7), first + timedelta(days=14), first + timedelta(days=28), first
    )
    far = Range(first + timedelta(days=90), first + timedelta(days=99), None, None)
    svg = two_strips_svg(near, far, axis, sentence="moves")
    parsed(svg)
    assert 'class="hollow" cx="25.00%"' in svg
    assert 'class="was" x1="12.50%" x2="50.00%"' in svg
    assert 'class="dot"' not in svg
