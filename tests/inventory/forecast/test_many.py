"""Many stocks at once say the same as each alone, and the same as a plain second reckoning.

Source of the figures: tests/inventory/forecast/plain.py, written from the formulas; no outside
source. Agreement to 1e-9 of a day, asked for in any order and company.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from inventory.forecast.change import NAMES
from inventory.forecast.engine import project
from inventory.forecast.many import reckon
from inventory.forecast.pack import pack
from inventory.forecast.types import Calibration, Case, Event, Kind, Observation, Options, Vessel
from tests.inventory.forecast import plain
from tests.inventory.forecast.cases import AS_OF, a_case, a_line, a_supplier

KINDS: tuple[Kind, ...] = ("bottle", "can", "cylinder", "tub")


def invented(seed: int) -> Case:
    """A stock with something of everything: lines, marks, scales, looks, receipts, decants."""
    luck = random.Random(seed)
    days, kind = luck.randint(30, 160), KINDS[seed % 4]
    lines = [f"T{n}" for n in range(1 + seed % 3)]
    first = AS_OF - timedelta(days=days - 1)
    doses = {line: luck.choice([2.0, 3.0, 6.0]) for line in lines}
    plan = [a_line(line, amount, start=first) for line, amount in doses.items()]
    if seed % 5 == 0:
        plan[0] = replace(plan[0], by="feeder")
    if seed % 7 == 0:
        plan[0] = replace(plan[0], end=AS_OF + timedelta(days=20))
    a_day, at = sum(doses.values()), 0
    level = a_day * (days + luck.uniform(20, 90))
    nominal = 1.1 * level
    seen: list[Observation] = []
    events = []
    while at < days:
        gap = luck.randint(3, 9)
        at += gap
        level -= a_day * luck.uniform(0.85, 1.05) * gap
        if seed % 6 == 1 and 20 < at <= 26:
            level -= 12 * a_day
        if seed % 6 == 2 and at > days - 40:
            level -= 5 * a_day
        if seed % 6 == 3 and not events and at > 20:
            events = [Event(first + timedelta(days=at + 2), "receipt", 9 * a_day, 0.1 * a_day)]
            level += 9 * a_day
        kind_seen = "eye" if luck.random() < 0.1 else "weigh"
        value = 0.5 if kind_seen == "eye" else round(max(1.0, level), 1)
        scale = luck.choice("AAAB")
        on = first + timedelta(days=min(at, days - 1))
        seen.append(Observation(on, kind_seen, value, "c1", 1.5, 1.0, scale))  # type: ignore[arg-type]
    return a_case(
        case_id=f"k{seed:03d}",
        kind=kind,
        history_from=first,
        vessels=(Vessel("c1", nominal, 0.01 * nominal, 3.0), Vessel("c2", 50.0, 1.0, 3.0)),
        plan=tuple(plan),
        ticks={line: "".join(luck.choices("dsm2", (90, 4, 4, 2), k=days)) for line in lines},
        ticked=seed % 8 != 4,
        observations=tuple(seen),
        events=(*events, Event(AS_OF + timedelta(days=9), "decant_out", -2.0 * a_day, 1.0)),
        calibration=(Calibration(AS_OF, 0.95, 0.02),) if seed % 9 == 0 else (),
        supplier=a_supplier(),
    )


CASES = [invented(seed) for seed in range(36)]


@pytest.fixture(scope="module")
def together() -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Quantiles and shares of names of all cases at once, without sisters."""
    packed = pack(CASES, sisters=False)
    found = reckon([(p.stocks, p.suppliers) for p in packed], Options(sisters=False))
    return {
        laid.case.case_id: (outcome.quantiles[n], outcome.by_name[n])
        for p, outcome in zip(packed, found, strict=True)
        for n, laid in enumerate(p.laid)
    }


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.case_id)
def test_arrays_and_the_plain_reckoning_agree(
    case: Case, together: dict[str, tuple[np.ndarray, np.ndarray]]
) -> None:
    days, names = plain.quantiles(case)
    ours, shares = together[case.case_id]
    assert ours == pytest.approx(np.array(days), abs=1e-6)
    assert [names.get(name, 0.0) for name in NAMES] == pytest.approx(list(shares), abs=1e-9)


def test_the_planted_mishaps_are_among_what_was_compared(
    together: dict[str, tuple[np.ndarray, np.ndarray]],
) -> None:
    found = {NAMES[int(shares.argmax())] for _, shares in together.values()}
    assert {"none", "steady_loss", "sudden_loss"} <= found, found


def test_each_alone_is_each_in_company_in_any_order() -> None:
    alone = [project([case])[0] for case in CASES]
    shuffled = CASES.copy()
    random.Random(4).shuffle(shuffled)
    beside = {found.case_id: found for found in project(shuffled)}
    for one in alone:
        other = beside[one.case_id]
        assert other.quantiles == pytest.approx(one.quantiles, abs=1e-9)
        assert (other.alarm, other.order_by) == (one.alarm, one.order_by)
        assert (other.level, other.factor) == pytest.approx((one.level, one.factor), abs=1e-9)


def test_the_door_for_arrays_and_the_door_for_cases_agree() -> None:
    group = [replace(case, group=f"g{n % 3}") for n, case in enumerate(CASES)]
    packed = pack(group)
    found = reckon([(p.stocks, p.suppliers) for p in packed])
    told = {one.case_id: one for one in project(group)}
    for p, outcome in zip(packed, found, strict=True):
        for n, laid in enumerate(p.laid):
            one = told[laid.case.case_id]
            assert outcome.quantiles[n] == pytest.approx(np.array(one.quantiles), abs=1e-9)
            assert NAMES[outcome.alarm[n]] == one.alarm
            assert NAMES[outcome.name[n]] == (one.finding.name if one.finding else "none")
            assert outcome.order_by[n] == one.order_by
            assert outcome.risk[n] == pytest.approx(one.risk_at_order_by, abs=1e-9)


def test_more_stocks_than_fit_into_one_part_say_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    group = [replace(case, group=f"g{n % 3}") for n, case in enumerate(CASES)]
    whole = project(group)
    monkeypatch.setattr("inventory.forecast.many.AT_ONCE", 5)
    monkeypatch.setattr("inventory.forecast.runout.AT_ONCE", 3)
    for one, other in zip(whole, project(group), strict=True):
        assert other.quantiles == pytest.approx(one.quantiles, abs=1e-9)


def test_what_sisters_taught_can_be_brought_again() -> None:
    group = [replace(case, group=f"g{n % 3}") for n, case in enumerate(CASES)]
    for one in project(group)[:9]:
        case = next(c for c in group if c.case_id == one.case_id)
        again = project([replace(case, sisters=one.sisters[0])])[0]
        assert again.quantiles == pytest.approx(one.quantiles, abs=1e-9)
        assert again.sisters[0].counts == one.sisters[0].counts


def test_a_stock_without_a_reading_and_one_without_a_plan_stand_beside_others() -> None:
    bare = a_case(case_id="bare", observations=())
    idle = a_case(case_id="idle", plan=(), ticks={})
    found = {one.case_id: one for one in project([*CASES[:4], bare, idle])}
    assert found["bare"].quantiles == project([bare])[0].quantiles
    assert found["idle"].quantiles == (400.0,) * 19
