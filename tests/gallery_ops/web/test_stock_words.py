"""Words and small pictures of stock: what is on order, how wrong we were, how full a vessel is."""

from __future__ import annotations

import re
from datetime import date

import pytest

from gallery_ops.drawing.stock import gauge_svg, use_days_svg
from gallery_ops.kernel.values.quantity import Mass, Volume
from gallery_ops.web.because import answers
from gallery_ops.web.parts import amount_exact, share, signed


def said(reason: dict[str, object]) -> str:
    (answer,) = answers([reason])
    return answer.text


def coming(**more: object) -> dict[str, object]:
    one = {"amount": Volume.l(5), "order": 12, "from": date(2026, 3, 17), "to": date(2026, 3, 20)}
    return {"what": "on_order", "coming": [one | more]}


def test_what_is_on_order_says_how_much_by_which_order_and_when() -> None:
    assert said(coming()) == "5 L by order 12, here between Tue 17 March and Fri 20 March"
    assert said(coming(to=date(2026, 3, 17))) == "5 L by order 12, likely Tue 17 March"
    assert said(coming(to=None)) == "5 L by order 12, late: ask the supplier"
    assert said({"what": "on_order", "coming": []}) == "nothing"


@pytest.mark.parametrize(
    ("n", "inside", "early", "text"),
    [
        (0, 0, None, "No forecast has run its course yet: too few to judge"),
        (
            1, 1, 0.02,
            "Of 1 forecast that met its truth within a year 1 was inside its range, "
            "on average on the day",
        ),
        (
            40, 31, 1.26,
            "Of 40 forecasts that met their truth within a year 31 were inside their range, "
            "on average 1.3 days before the truth",
        ),
        (
            40, 12, -3.0,
            "Of 40 forecasts that met their truth within a year 12 were inside their range, "
            "on average 3 days after the truth",
        ),
    ],
)  # fmt: skip
def test_how_wrong_we_were_is_said_also_when_it_is_bad(
    n: int, inside: int, early: float | None, text: str
) -> None:
    assert said({"what": "past_errors", "n": n, "inside": inside, "early_days": early}) == text


def test_the_last_weighing_names_who_and_how_long_ago() -> None:
    amounts = {"level": {"amount": 310.0, "unit": "mL"}, "level_sd": {"amount": 2.0, "unit": "mL"}}
    reason = {"what": "last_measured", "on": "2026-03-09", "n": 3, "age_days": 3, **amounts}
    assert said(reason | {"by": "Odile Marsh"}) == (
        "Mon 9 March by Odile Marsh, 3 days ago, 3 in all. Level now 310 mL, ± 2 mL"
    )


def test_an_answer_leads_to_its_proof_where_there_is_one() -> None:
    (answer,) = answers([{"what": "past_errors", "n": 0, "href": "/a/", "link": "Report card"}])
    assert (answer.href, answer.link) == ("/a/", "Report card")


def test_signed_amounts_and_parts() -> None:
    assert signed(Volume.ml(500)) == "+500 mL"
    assert signed(Volume.ml(-3)) == "−3 mL"
    assert signed(Volume.ml(0)) == "0 mL"
    assert [share(part) for part in (-0.076, 0.15, 0.0)] == ["−7.6 %", "+15 %", "0 %"]
    assert amount_exact(Volume(924)) == "0.924 mL"
    assert amount_exact(Mass.g("1.5")) == "1.5 g"


@pytest.mark.parametrize(
    ("part", "high"), [(0.0, None), (0.5, 21.0), (1.0, 42.0), (1.7, 42.0), (-0.3, None)]
)
def test_a_vessel_is_filled_to_its_part_and_never_beyond(part: float, high: float | None) -> None:
    found = re.search(r'class="tank-f"[^>]* height="([\d.]+)"', gauge_svg(part))
    assert (float(found[1]) if found else None) == high


def test_a_guess_is_dashed_and_empty_and_what_stays_has_a_line() -> None:
    guess = gauge_svg(0.5, is_guess=True)
    assert "stroke-dasharray" in guess
    assert "tank-f" not in guess
    assert 'y1="42.9"' in gauge_svg(0.5, unusable=0.05)
    assert 'aria-label="half"' in gauge_svg(0.5, sentence="half")


def test_days_are_columns_and_the_plan_is_a_line_at_its_height() -> None:
    drawn = use_days_svg([6.0, 3.0, 0.0], [6.0, 6.0, 6.0], sentence="three days")
    heights = re.findall(r'<rect class="f"[^>]* height="([\d.]+)"', drawn)
    assert heights == ["38", "19"]
    lines = re.findall(r'<line class="l"[^>]* y1="([\d.]+)"', drawn)
    assert lines == ["6", "6", "6"]
    assert use_days_svg([0.0], [0.0]).count("<rect") == 0


@pytest.mark.parametrize(
    ("habit", "text"),
    [
        ("gives_less", "0.92 of what is planned is given (0.91 to 0.93, 13 weighings)"),
        (
            "unticked_done",
            "of the doses that nobody ticked 92 % were given after all (91 to 93 %, 13 "
            "measurements)",
        ),
        (
            "unticked_left_out",
            "of the doses that nobody ticked only 92 % were given (91 to 93 %, 13 measurements)",
        ),
    ],
)
def test_a_slow_habit_is_said_in_its_own_words(habit: str, text: str) -> None:
    told = {"what": "habit", "habit": habit, "lo": 0.91, "mid": 0.92, "hi": 0.93, "n": 13}
    assert said(told) == text
