"""How much to order: against the textbook point, cases worked by hand, and what must always hold.

Sources: tests/outside/job_check_values.json rows R1, R2, F2, F3 (calculated from their stated
inputs); the rest is arithmetic done by hand beside the check.
"""

from __future__ import annotations

import json
from datetime import date, timedelta
from itertools import pairwise
from math import ceil, sqrt
from pathlib import Path
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.forecast.amounts import (
    Amount,
    Arrivals,
    Limits,
    Need,
    Pack,
    UseAhead,
    amount_of,
    arrivals_of,
    from_left,
    lasting,
    need,
    steady,
)
from inventory.forecast.types import Supplier

pytestmark = pytest.mark.once

ROWS = {
    row["id"]: row
    for row in json.loads(
        (Path(__file__).parents[2] / "outside" / "job_check_values.json").read_text("utf-8")
    )
}
REVIEW = 7


def normal_lead(mean: float, sd: float, after: int = 0) -> tuple[tuple[int, float], ...]:
    """A normal lead time cut into whole days, 1 to 60, ``after`` days later."""
    lead = NormalDist(mean, sd)
    edges = [-1e9, *(day + 0.5 for day in range(1, 60)), 1e9]
    chances = [lead.cdf(b) - lead.cdf(a) for a, b in pairwise(edges)]
    return tuple((day + after, chance) for day, chance in enumerate(chances, start=1))


def on(day: int, following: int) -> Arrivals:
    """Vans that come on the day, for certain."""
    return Arrivals(((day, 1.0),), ((following, 1.0),))


# --- the textbook -------------------------------------------------------------------------------
def test_constant_use_and_a_normal_lead_time_give_the_textbook_point() -> None:
    use = steady(196, 15)
    point = lasting(use, normal_lead(7, 3, after=REVIEW))
    # whole days are coarse: half a day's use, 98 mL, is the most that may lie between
    assert point == pytest.approx(ROWS["R2"]["expect"], abs=98)
    safety = point - 196 * (7 + REVIEW)
    assert safety == pytest.approx(ROWS["R1"]["expect"], abs=98)


def test_a_lead_time_without_spread_gives_the_textbook_to_the_hundredth() -> None:
    # 196 x 14 + 1.644854 x sqrt(14) x 15 = 2744 + 92.318, by hand
    assert lasting(steady(196, 15), ((14, 1.0),)) == pytest.approx(2836.32, abs=0.01)


def test_nothing_is_wanted_at_the_point_and_a_little_below_it() -> None:
    use, arrivals = steady(196, 15), on(7, 14)
    at = lasting(use, arrivals.following)
    assert need(use, arrivals, at).wanted == pytest.approx(0, abs=1e-6)
    assert need(use, arrivals, at - 50).wanted == pytest.approx(50, abs=1e-6)


# --- worked by hand -----------------------------------------------------------------------------
FOOD = steady(5_795 * 6 / 7, 300)
"""Food of the check values, 5.795 g on six days a week [mg]."""


def test_a_tub_that_would_be_too_old_is_refused_and_the_smaller_one_taken() -> None:
    small, large = Pack(100_000, 890), Pack(250_000, 1_690, is_preferred=True)
    arrivals = on(5, 12)
    found = need(FOOD, arrivals, level=30_000)
    asked = amount_of(found, FOOD, 5, [large, small], Limits(opened_life_days=28))
    # F2, F3: 100 g last 20.1 days, 250 g 50.3; only the first is inside 28 days of being open
    assert ROWS["F2"]["expect"] < 28 < ROWS["F3"]["expect"]
    assert asked.pack == small
    assert asked.packs == 1
    assert asked.capped_by == "opened_life"
    assert not asked.goes_off


def test_where_only_too_large_a_tub_is_sold_it_is_bought_and_said() -> None:
    found = need(FOOD, on(5, 12), level=30_000)
    asked = amount_of(found, FOOD, 5, [Pack(250_000, 1_690)], Limits(opened_life_days=28))
    assert (asked.packs, asked.goes_off, asked.capped_by) == (1, True, "opened_life")


def test_a_shelf_that_holds_two_cans_gets_two() -> None:
    use = steady(196, 15)
    found = need(use, on(8, 90), level=2_710)
    asked = amount_of(found, use, 8, [Pack(5_000, 3_140)], Limits(storage_base=11_500))
    # 196 x 90 = 17,640 and luck; 2,710 - 8 x 196 = 1,142 left; (11,500 - 1,142) / 5,000 = 2.07
    assert found.left == pytest.approx(1_142)
    assert asked.enough == 4
    assert (asked.packs, asked.most, asked.capped_by) == (2, 2, "storage")
    # 1,142 + 10,000 = 11,142 last 56.8 days after day 8
    assert asked.lasts_to == pytest.approx(8 + 11_142 / 196)
    assert asked.is_short


def test_two_packs_say_when_one_would_be_gone() -> None:
    use = steady(100, 0.0)
    asked = amount_of(need(use, on(5, 20), level=500), use, 5, [Pack(1_000)], Limits())
    assert asked.packs == 2  # 15 days x 100 = 1,500
    assert asked.fewer_to == 16  # 500 + 1,000 last to the end of day 15
    assert asked.lasts_to == 25


def test_what_is_on_order_counts_and_what_was_missing_is_not_made_up_for() -> None:
    use = steady(100, 0.0)
    assert need(use, on(5, 12), level=500, coming_after=400).wanted == pytest.approx(300)
    assert need(use, on(5, 12), level=500, coming_before=400).wanted == pytest.approx(300)
    out_before = need(use, on(5, 12), level=100)
    assert out_before.left == 0
    assert out_before.wanted == pytest.approx(700)  # not 1,100: four days had nothing to give


def test_cash_buys_what_it_buys() -> None:
    use = steady(100, 0.0)
    found = need(use, on(5, 40), level=500)
    asked = amount_of(found, use, 5, [Pack(1_000, 700)], Limits(cash_cents=2_000))
    assert (asked.enough, asked.packs, asked.capped_by) == (4, 2, "cash")


def test_a_printed_life_caps_the_sum_of_all() -> None:
    use = steady(100, 0.0)
    found = need(use, on(5, 65), level=700)
    asked = amount_of(found, use, 5, [Pack(1_000)], Limits(printed_life_days=30))
    # 3,000 used in 30 days; 200 left on arrival; two more would be 2,200, three 3,200
    assert (asked.packs, asked.capped_by, asked.cap_base) == (2, "printed_life", 3_000)


def test_a_closed_week_orders_more() -> None:
    use, today = steady(196, 15), date(2026, 3, 12)
    amounts = []
    for closures in ((), ((date(2026, 3, 23), date(2026, 4, 6)),)):
        who = Supplier((1, 4), 7, closures=closures)
        amounts.append(need(use, arrivals_of(who, today), level=2_710).wanted)
    # the order after this one comes by Fri 3 April in 19 of 20 cases; closed, by Tue 7 April
    assert amounts[1] > amounts[0] + 3 * 196


def test_vans_come_on_their_days_and_not_while_closed() -> None:
    who = Supplier((1, 4), 7, closures=((date(2026, 3, 16), date(2026, 3, 21)),))
    vans = arrivals_of(who, date(2026, 3, 12))
    for days in (vans.this, vans.following):
        assert sum(chance for _, chance in days) == pytest.approx(1)
        came = {date(2026, 3, 12) + timedelta(days=day) for day, _ in days}
        assert all(day.weekday() in {1, 4} for day in came)
        assert not any(date(2026, 3, 16) <= day < date(2026, 3, 21) for day in came)
    assert vans.likely == 12  # Tue 24 March
    assert vans.next_likely == 15  # sent on the 19th, ready on the 26th: Fri 27 March


def test_use_is_read_off_what_is_left() -> None:
    use = from_left([1_000, 900, 750, 750], [4.0, 9.0, 16.0, 16.0])
    assert use.by(2) == (250.0, 16.0)
    assert use.between(1, 2) == pytest.approx((150.0, sqrt(7)))
    assert use.day_of(175) == pytest.approx(1.5)
    assert use.day_of(500) == pytest.approx(6.0)  # goes on as on the last day


def test_nothing_sold_is_an_error() -> None:
    with pytest.raises(ValueError, match="needs a pack"):
        amount_of(Need(1, 0, 0, 0), steady(1, 1), 1, [], Limits())


# --- what must always hold ----------------------------------------------------------------------
AMOUNTS = st.integers(0, 20_000)
PACKS = st.lists(
    st.builds(Pack, st.integers(1, 6_000), st.none() | st.integers(1, 9_000), st.booleans()),
    min_size=1,
    max_size=4,
)
LIVES = st.none() | st.integers(1, 400)
LIMITS = st.builds(Limits, st.none() | AMOUNTS, LIVES, LIVES, st.none() | st.integers(0, 40_000))
USES = st.builds(steady, st.floats(0, 400), st.floats(0, 80), st.floats(0, 0.4), st.floats(0, 300))
VANS = st.tuples(st.integers(1, 30), st.integers(0, 60)).map(lambda d: on(d[0], d[0] + d[1]))


def asked_for(
    use: UseAhead, vans: Arrivals, level: int, packs: list[Pack], limits: Limits
) -> tuple[Need, Amount]:
    found = need(use, vans, level)
    return found, amount_of(found, use, vans.likely, packs, limits)


@given(USES, VANS, AMOUNTS, PACKS, LIMITS)
def test_never_more_than_a_cap_and_never_less_than_needed_without_one(
    use: UseAhead, vans: Arrivals, level: int, packs: list[Pack], limits: Limits
) -> None:
    found, asked = asked_for(use, vans, level, packs, limits)
    assert asked.pack in packs
    assert asked.enough == ceil(found.wanted / asked.pack.base - 1e-9)
    if limits.storage_base is not None and asked.packs:
        assert found.left + found.coming + asked.base <= limits.storage_base + 1e-3
    if limits.cash_cents is not None and asked.cents is not None:
        assert asked.cents <= limits.cash_cents
    if asked.cap_base is not None and asked.packs:
        assert found.left + found.coming + asked.base <= asked.cap_base + 1
    if asked.packs < asked.enough:
        assert asked.capped_by in {"storage", "printed_life", "cash"}
        assert asked.packs == asked.most
    else:
        assert asked.packs == asked.enough  # and never one more than needed


@given(USES, VANS, AMOUNTS, AMOUNTS, PACKS)
def test_the_fuller_the_shelf_the_less_is_wanted(
    use: UseAhead, vans: Arrivals, level: int, more: int, packs: list[Pack]
) -> None:
    less, _ = asked_for(use, vans, level + more, packs, Limits())
    found, _ = asked_for(use, vans, level, packs, Limits())
    assert less.wanted <= found.wanted + 1e-6


@given(USES, VANS, AMOUNTS, PACKS)
def test_what_is_ordered_lasts_until_the_order_after_it(
    use: UseAhead, vans: Arrivals, level: int, packs: list[Pack]
) -> None:
    found, asked = asked_for(use, vans, level, packs, Limits())
    there = found.used_before + found.left + found.coming + asked.base
    mean, variance = use.by(vans.next_likely)
    sure = mean + NormalDist().inv_cdf(0.95) * sqrt(variance)
    assert there >= sure - 1e-3 * (1 + sure)
    if asked.fewer_to is not None:
        assert asked.lasts_to is None or asked.fewer_to <= asked.lasts_to + 1
