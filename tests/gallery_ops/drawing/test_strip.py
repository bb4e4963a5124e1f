"""The range strip: places on the axis are places in time."""

import re
from datetime import date, timedelta

import pytest

from gallery_ops.drawing import Axis, Level, axis_svg, level_of, strip_svg
from tests.gallery_ops.drawing.test_front_view import parsed

TODAY = date(2026, 3, 12)
AXIS = Axis(TODAY, 56, deliveries=(date(2026, 3, 13), date(2026, 3, 17)))


def places(text: str, css: str) -> list[str]:
    return re.findall(rf'class="{css}" (?:x1|cx)="([\d.]+)%"', text)


def test_posts_and_bead_stand_at_their_dates() -> None:
    level = Level(0.54, date(2026, 3, 25), date(2026, 3, 26), date(2026, 3, 29))
    text = strip_svg(level, AXIS)
    # 13, 14 and 17 of 56 days after the first day of the axis.
    assert places(text, "end") == ["23.21", "30.36", "23.21"]
    assert places(text, "dot") == ["25.00"]
    assert places(text, "dl") == ["1.79", "8.93"]


def test_level_falls_from_the_gauge_to_the_ground() -> None:
    level = Level(0.54, date(2026, 3, 25), date(2026, 3, 26), date(2026, 3, 29))
    text = strip_svg(level, AXIS)
    assert 'width="30.36%"' in text  # the box ends at the latest day
    assert '<path class="likely" d="M0 46L82.4 100"/>' in text  # 14 of 17 days
    assert 'class="fan" points="0,46 76.5,100 100,100"' in text  # 13 of 17 days
    assert '<rect class="tank-f" x="-16" y="27" width="11" height="23"/>' in text  # 0.54 of 42 px


def test_a_run_out_beyond_the_axis_has_no_bead_but_its_line_is_drawn() -> None:
    level = Level(0.29, date(2026, 5, 8), date(2026, 5, 18), date(2026, 5, 30))
    text = strip_svg(level, AXIS)
    assert places(text, "dot") == []
    assert places(text, "end") == []
    # Of a level of 29 % after 56 of 67 days 1 - 56/67 is left: 100 - 29 x 11/67 = 95.2.
    assert 'd="M0 71L100 95.2"' in text


def test_earliest_on_the_axis_latest_beyond_it() -> None:
    level = Level(0.5, date(2026, 4, 20), date(2026, 5, 20), date(2026, 7, 1))
    text = strip_svg(level, AXIS)
    assert places(text, "end") == ["69.64", "69.64"]
    assert 'x2="100.00%"' in text
    assert parsed(text) is not None


def test_pennant_and_cross_stand_at_their_dates() -> None:
    level = Level(
        0.5, likely=date(2026, 4, 12), order_by=date(2026, 3, 19), too_old=date(2026, 3, 24)
    )
    text = strip_svg(level, AXIS)
    assert places(text, "by") == ["12.50"]
    assert '<svg x="21.43%" y="43"' in text
    late = strip_svg(Level(0.5, order_by=date(2026, 3, 1)), AXIS)
    assert places(late, "by") == ["0.00"]  # a day that has passed stands at today
    far = strip_svg(Level(0.5, order_by=date(2026, 9, 1)), AXIS)
    assert places(far, "by") == []


@pytest.mark.parametrize("full", [-0.3, 0.0, 1.7])
def test_a_level_outside_its_bounds_stays_inside_the_picture(full: float) -> None:
    text = strip_svg(Level(full, likely=TODAY), AXIS)
    assert parsed(text) is not None
    heights = [int(h) for h in re.findall(r'width="11" height="(-?\d+)"', text)]
    assert bool(heights) == (full > 0)
    assert all(0 < height <= 42 for height in heights)


def test_a_guess_is_drawn_dashed_and_unfilled() -> None:
    text = strip_svg(Level(0.5, is_guess=True), AXIS)
    assert "stroke-dasharray" in text
    assert "tank-f" not in text


def test_closed_days_are_gaps_in_the_ground() -> None:
    axis = Axis(TODAY, 56, closures=(date(2026, 4, 3), date(2026, 4, 6)))
    pieces = re.findall(r'class="base" x1="([\d.]+)%" x2="([\d.]+)%"', strip_svg(Level(0.5), axis))
    assert len(pieces) == 3
    assert all(float(a) < float(b) for a, b in pieces)


def test_axis_names_its_weeks_in_the_words_given() -> None:
    text = axis_svg(AXIS, lambda day: f"{day:%d.%m.}")
    assert re.findall(r">([\d.]+)</text>", text)[:2] == ["12.03.", "19.03."]
    assert ">12 Mar</text>" in axis_svg(AXIS)
    assert text.count('class="van"') == 2


def test_part_of_full_is_kept_between_nothing_and_all() -> None:
    assert level_of(2710, 5000) == pytest.approx(0.542)
    assert level_of(5100, 5000) == 1
    assert level_of(-3, 5000) == 0
    assert level_of(5, 0) == 0


def test_on_a_long_axis_each_week_has_one_van_and_on_eight_weeks_they_stay_apart() -> None:
    daily = tuple(TODAY + timedelta(days=n) for n in range(182) if n % 7 < 4)
    half_year = Axis(TODAY, 182, deliveries=daily)
    assert axis_svg(half_year).count('class="van"') == 26
    assert strip_svg(Level(0.5), half_year).count('class="dl"') == 26
    # four vans in a row: squares of 4 px on an axis whose day is 5 px wide on a tablet
    assert 'd="M-2 0H2V6H-2Z"' in axis_svg(Axis(TODAY, 56, deliveries=daily))
    assert 'd="M-3 0H3V6H-3Z"' in axis_svg(Axis(TODAY, 28, deliveries=daily))
