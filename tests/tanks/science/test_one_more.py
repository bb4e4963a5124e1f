"""Fits, fits if, no: each line at its limits. Sums by hand; the shares are common practice."""

from __future__ import annotations

import pytest

from tanks.science.filling import Glass
from tanks.science.one_more import (
    Line,
    WeekMinutes,
    air_line,
    circuit_line,
    floor_line,
    labour_line,
    verdict,
    year_line,
)

pytestmark = pytest.mark.once
S60 = Glass(600, 300, 360, 6)


@pytest.mark.parametrize(
    ("weeks", "found", "words"),
    [
        ([WeekMinutes(12, 900, 990, 1_000)], "fits", "10 min are left"),
        ([WeekMinutes(12, 900, 1_000, 1_000)], "fits", "0 min are left"),
        ([WeekMinutes(12, 900, 1_010, 1_000)], "if", "if 10 min more are found in week 12"),
        ([WeekMinutes(12, 1_001, 1_101, 1_000)], "no", "by 1 min in week 12"),
        (
            [WeekMinutes(12, 0, 90, 100), WeekMinutes(13, 0, 90, 60)],
            "if",
            "if 30 min more are found in week 13",
        ),
        ([WeekMinutes(12, 900, 990, None)], "if", "no week has a shift"),
    ],
)
def test_the_rota_holds_it_or_says_how_much_is_missing(
    weeks: list[WeekMinutes], found: str, words: str
) -> None:
    line = labour_line(weeks, 200, 71)
    assert (line.verdict, words in line.words) == (found, True)
    assert "200 min in its first week, 71 min a week once grown" in line.because


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ((False, None, 0, ""), "fits"),
        ((True, None, 0, ""), "if"),
        ((True, None, 0, "Deep Room"), "if"),
        ((True, 4_529, 0, "Deep Room"), "fits"),
        ((True, 7_344, 1, "Deep Room"), "if"),
        ((True, 25_880, 2, "Deep Room"), "no"),
    ],
)
def test_the_air_of_the_room(asked: tuple[bool, int | None, int, str], found: str) -> None:
    assert air_line(*asked).verdict == found


@pytest.mark.parametrize(
    ("power", "known", "breaker", "found"),
    [
        # 10 A at 230 V is 2,300 W, four fifths of it 1,840 W
        (840, 1_000, 10, "fits"),
        (841, 1_000, 10, "if"),
        (1_300, 1_000, 10, "if"),
        (1_301, 1_000, 10, "no"),
        (10, 0, None, "if"),
    ],
)
def test_the_circuit(power: float, known: float, breaker: float | None, found: str) -> None:
    assert circuit_line(power, 8, "R2", known, breaker).verdict == found
    assert circuit_line(power, 8, "", 0, breaker).verdict == "if"


def test_the_floor_is_a_number_and_somebody_to_ask() -> None:
    line = floor_line(S60, 10.4)
    # glass 12.1, water 51.84 L 51.7, ground 9.31 L at 1.5 kg 14.0, stone 9.7, stand 10.4: 97.9 kg
    assert line.words == "98 kg. Ask a structural engineer."
    assert "5.3 kPa" in line.because
    assert line.verdict == "number"


def test_a_year_of_a_small_tank() -> None:
    line = year_line(S60, 3.0, 0.04, None)
    # 3 mL x 365; 0.04 g x 64.8 L x 365; half of 51.84 L x 52
    assert line.words == "1.1 L of fertiliser, 0.9 kg of CO2, 1,348 L of water"


def test_the_worst_line_decides_and_numbers_do_not() -> None:
    def of(*found: str) -> str:
        return verdict([Line("", one, "", "") for one in found])  # type: ignore[arg-type]

    assert of("fits", "number") == "fits"
    assert of("fits", "if", "number") == "if"
    assert of("no", "if") == "no"
