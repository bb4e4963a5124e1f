"""Rows of the table of published and reference values that concern the forecast.

Source: tests/outside/forecast_checks.csv; each row names its own (Hyndman and Athanasopoulos,
Forecasting: Principles and Practice, 3rd ed., 13.2; statsforecast 2.1.1; textbook examples of the
reorder point; scoring rules by definition). The series is tests/outside/forecast_j06.csv. Rows of
that table which this program has no arithmetic for (economic lots, newsvendor, lot-size policies)
are told at the end.
"""

from __future__ import annotations

import csv
import random
import re
from pathlib import Path
from statistics import NormalDist

import pytest

from inventory.forecast import rates, score
from inventory.forecast.reorder import reorder_point

OUTSIDE = Path(__file__).parents[2] / "outside"
ROWS = list(csv.DictReader((OUTSIDE / "forecast_checks.csv").read_text("utf-8").splitlines()))
J06 = [
    int(row["Scripts"])
    for row in csv.DictReader((OUTSIDE / "forecast_j06.csv").read_text("utf-8").splitlines())
]
SIZES, GAPS = rates.sizes_and_gaps(J06)


def row_of(topic: str, inputs: str = "") -> dict[str, str]:
    (found,) = [r for r in ROWS if r["topic"] == topic and r["inputs"].startswith(inputs)]
    return found


def numbers(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"-?\d+\.?\d*(?:e-?\d+)?", text)]


def reorder(z: float, *, use: float, sd: float, lead: float, lead_sd: float = 0.0) -> list[float]:
    found = reorder_point(use, sd, lead, lead_sd, 0.0, z=z)
    return [found.safety, found.point]


CASES = [
    ("Croston FPP3", "alpha_q=0.71 ", [rates.smoothed(SIZES, 0.71, 4.17)]),
    ("Croston FPP3", "alpha_a=0.08 ", [rates.smoothed(GAPS, 0.08, 3.52)]),
    (
        "Croston FPP3",
        "alpha_q=0.709,",
        [rates.smoothed(SIZES, 0.709, 4.17) / rates.smoothed(GAPS, 0.081, 3.52)],
    ),
    ("Series J06", "first 12", [float(n) for n in J06[:12]]),
    ("Series J06", "all", [float(sum(J06)), float(len(SIZES))]),
    ("Croston classic J06", "", [rates.croston(J06)]),
    ("SBA J06", "", [rates.sba(J06)]),
    ("TSB J06", "", [rates.tsb(J06)]),
    ("ROP fixed lead time", "", reorder(1.65, use=30, sd=5, lead=10)),
    ("ROP given LT demand", "", reorder(1.88, use=50, sd=5, lead=1)),
    ("sigma of lead-time demand", "", reorder(1.0, use=40, sd=12, lead=9, lead_sd=2.5)[:1]),
    ("pinball", "", [score.pinball(0.9, 8, 10), score.pinball(0.9, 10, 8)]),
]


@pytest.mark.parametrize(("topic", "inputs", "ours"), CASES, ids=lambda v: str(v)[:24])
def test_row_of_the_published_values(topic: str, inputs: str, ours: list[float]) -> None:
    row = row_of(topic, inputs)
    published = row["published_or_reference"]
    if not numbers(published.replace("(own count)", "")):
        published = row["computed_here"]
    assert ours == pytest.approx(numbers(published), abs=float(row["tolerance"]))


def test_crps_of_a_normal_by_many_levels() -> None:
    # 2,000 levels, as the row says; closed form of Gneiting and Raftery 2007
    row = row_of("CRPS normal")
    levels = [(n + 0.5) / 2_000 for n in range(2_000)]
    quantiles = [NormalDist().inv_cdf(level) for level in levels]
    for truth, expected in zip((0.0, 1.0), numbers(row["published_or_reference"]), strict=True):
        pairs = zip(levels, quantiles, strict=True)
        ours = 2 * sum(score.pinball(p, q, truth) for p, q in pairs) / len(levels)
        assert ours == pytest.approx(expected, abs=float(row["tolerance"]))


def test_cut_offs_of_the_classes() -> None:
    told = row_of("Syntetos-Boylan cut-offs")
    assert told["inputs"] == f"ADI {rates.ADI_CUT}, CV2 {rates.CV2_CUT}"


def plain_rates(demand: list[int], alpha: float) -> tuple[float, float]:
    """Croston and TSB once more, straight from their definitions, day by day."""
    first = next(n for n, pieces in enumerate(demand) if pieces)
    size, gap, since = float(demand[first]), float(first + 1), 0
    held, chance = float(demand[first]), float(demand[0] > 0)
    for n, pieces in enumerate(demand):
        if n:
            chance = alpha * float(pieces > 0) + (1 - alpha) * chance
            held = alpha * pieces + (1 - alpha) * held if pieces else held
        if n > first:
            since += 1
            if pieces:
                size, gap = alpha * pieces + (1 - alpha) * size, alpha * since + (1 - alpha) * gap
                since = 0
    return size / gap, held * chance


def test_two_hundred_invented_series_agree_with_the_definitions() -> None:
    # the row compares with statsforecast 2.1.1, which is not installed here; it says 3e-15 at most
    row = row_of("own numpy vs statsforecast")
    luck = random.Random(11)
    for _ in range(200):
        chance = luck.uniform(0.03, 0.4)
        demand = [luck.randint(1, 9) if luck.random() < chance else 0 for _ in range(180)]
        if not any(demand):
            continue
        ours = (rates.croston(demand), rates.tsb(demand))
        assert ours == pytest.approx(plain_rates(demand, 0.1), abs=float(row["tolerance"]))
        assert rates.sba(demand) == pytest.approx(0.95 * ours[0], abs=1e-12)


NOT_OURS = ("EOQ", "Newsvendor", "(r,Q)", "(s,S)")


def test_every_other_row_is_of_something_this_program_does_not_reckon() -> None:
    checked = {topic for topic, _, _ in CASES}
    checked |= {
        "CRPS normal",
        "Syntetos-Boylan cut-offs",
        "own numpy vs statsforecast",
        "J06 class",
    }
    rest = {row["topic"] for row in ROWS} - checked
    assert all(topic.startswith(NOT_OURS) for topic in rest), rest
