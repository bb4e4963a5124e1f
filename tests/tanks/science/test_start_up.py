"""Steps of a start-up go by day and condition. Figures: common practice, no source."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tanks.science.start_up import REGIME, dose_steps, propose, regime

pytestmark = pytest.mark.once


@pytest.mark.parametrize(
    ("accepted", "day", "algae", "tan", "kind", "extra"),
    [
        (0, 1, None, None, "accept", 0),
        (1, 7, 0, 0.1, "stay", 0),
        (1, 8, 1, 0.5, "accept", 0),
        (1, 8, 2, 0.5, "hold", 0),
        (1, 8, None, 0.5, "hold", 0),
        (1, 8, 1, None, "hold", 0),
        (1, 5, 1, 1.2, "stay", 50),
        (1, 9, 1, 1.2, "hold", 50),
        (1, 9, 1, 1.0, "accept", 0),
        (6, 99, 0, 0.0, "none", 0),
    ],
)
def test_a_step_waits_for_its_day_and_for_what_speaks_against_it(
    accepted: int, day: int, algae: float | None, tan: float | None, kind: str, extra: int
) -> None:
    found = propose(REGIME, accepted=accepted, day=day, algae=algae, tan_mg_per_l=tan)
    assert (found.kind, found.extra_change_percent) == (kind, extra)


def test_the_days_of_the_regime_leave_no_gap() -> None:
    for before, after in pairwise(REGIME):
        assert before.to_day is not None
        assert after.from_day == before.to_day + 1


def test_inert_ground_is_fed_from_the_first_week() -> None:
    assert [step.dose_permille for step in regime(is_inert=True)][:3] == [500, 500, 667]


@given(st.integers(1, 10**6))
def test_a_ramp_never_falls_and_ends_at_the_full_dose(full: int) -> None:
    lines = dose_steps(REGIME, full)
    amounts = [amount for _from, _to, amount in lines]
    assert amounts == sorted(amounts)
    assert lines[-1][1] is None
    assert amounts[-1] == full
