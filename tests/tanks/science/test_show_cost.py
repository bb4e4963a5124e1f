"""Days on show and what one costs: sums by hand."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest

from tanks.science.show_cost import day_cents, show_days, use_cents, whole_cents

pytestmark = pytest.mark.once
JAN, FEB, MAR, APR = (date(2026, month, 1) for month in (1, 2, 3, 4))


@pytest.mark.parametrize(
    ("stages", "until", "days"),
    [
        ([(JAN, "show")], MAR, 59),
        ([(JAN, "show"), (FEB, "recovery")], MAR, 59),
        ([(JAN, "show"), (FEB, "decline"), (MAR, "teardown")], APR, 59),
        ([(JAN, "start_up"), (FEB, "grow_in")], MAR, 0),
        ([(JAN, "show"), (FEB, "grow_in"), (MAR, "show")], APR, 31 + 31),
        ([(MAR, "show")], MAR, 0),
        ([(APR, "show")], MAR, 0),
        ([(JAN, "show"), (MAR, "teardown")], FEB, 31),
    ],
)
def test_days_on_show_are_those_that_visitors_see_it(
    stages: list[tuple[date, str]], until: date, days: int
) -> None:
    assert show_days(stages, until) == days


def test_a_use_costs_its_share_of_a_pack_and_a_day_its_share_of_the_sum() -> None:
    assert use_cents(3_000, 1_250, 500_000) == Fraction(15, 2)
    assert whole_cents(Fraction(15, 2)) == 8
    # 312.40 for the build, 20 h at 18.00, 9.60 used: 682.00 over 155 days is 4.40
    assert day_cents(31_240 + 36_000 + 960, 155) == 440
    assert day_cents(100, 0) is None
    for wrong in ((-1, 1, 1), (1, -1, 1), (1, 1, 0)):
        with pytest.raises(ValueError, match="not negative"):
            use_cents(*wrong)
