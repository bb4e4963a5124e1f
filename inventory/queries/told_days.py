"""How was each day told: what was given to a tank, what was skipped, what is planned ahead?

What was given is the record itself (presses times the measured press), so a factor of 1 means that
the record is true; what is planned ahead is what the instruction will give with the press as it was
last measured. A day that is planned but has no record is unticked; today's plan counts as done,
since a projection starts at the end of today.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import cast

from inventory.forecast import press
from inventory.forecast.types import By, PlanSegment
from inventory.models import Container
from inventory.queries.plans import Step
from inventory.queries.stock_facts import Feed, StockFacts, is_gas

EVERY_DAY = "1111111"


def told(
    facts: StockFacts, container: Container, feeds: list[Feed], first: date, base: float
) -> tuple[list[PlanSegment], dict[str, str]]:
    """Segments of plan and ticks of a container, one line a tank.

    first : first day of history; base : base units in one unit of the case. Past days stand as they
    were given, days ahead as they are planned.
    """
    tanks = sorted({f.tank_id for f in feeds} | {t for t, _ in facts.uses.get(container.pk, {})})
    plan: list[PlanSegment] = []
    ticks: dict[str, str] = {}
    for tank_id in tanks:
        own = [f for f in feeds if f.tank_id == tank_id]
        steps = facts.plans.get((tank_id, container.item_id, own[0].purpose), []) if own else []
        line = facts.codes.get(tank_id, f"tank {tank_id}")
        days = list(_days(facts, container, tank_id, own, steps, first))
        plan += _runs(line, first, days, base)
        plan += _ahead(facts, container, own, steps, line, base)
        ticks[line] = "".join(mark for _, mark, _ in days)
    return plan, ticks


def _days(
    facts: StockFacts,
    container: Container,
    tank_id: int,
    own: list[Feed],
    steps: list[Step],
    first: date,
) -> Iterator[tuple[float, str, By]]:
    """Amount, tick and giver of each past day of one tank."""
    uses = facts.uses.get(container.pk, {})
    for n in range((facts.today - first).days + 1):
        day = first + timedelta(days=n)
        rows = uses.get((tank_id, day), ())
        given = sum(row.given for row in rows)
        if given:
            yield float(given), "d", "hand"
            continue
        feed = next((f for f in own if f.holds(day)), None)
        planned, by = _planned(facts, container, feed, steps, day)
        if rows:
            yield planned or float(rows[-1].planned), "s", by
        elif planned and not _given_by_another(facts, container, tank_id, day):
            yield planned, "d" if day == facts.today else "m", by
        else:
            yield 0.0, "-", by


def _given_by_another(facts: StockFacts, container: Container, tank_id: int, day: date) -> bool:
    return bool(facts.given_elsewhere.get((tank_id, container.item_id, day)))


def _planned(
    facts: StockFacts, container: Container, feed: Feed | None, steps: list[Step], day: date
) -> tuple[float, By]:
    if feed is None:
        return 0.0, "valve" if is_gas(container) else "hand"
    due = [s for s in steps if s.on(day)]
    amount = sum(_instructed(facts, container, s, day) for s in due)
    by = due[-1].means if due else ("valve" if is_gas(container) else "hand")
    return amount * feed.share_permille / 1000, cast("By", by)


def _instructed(facts: StockFacts, container: Container, step: Step, day: date) -> float:
    """What the instruction for a planned amount really gives on a day [base units]."""
    nominal = container.press_nominal_ul
    if container.item.dimension != "volume" or not nominal or step.means != "hand":
        return float(step.amount_base)
    told = press.instruction(step.amount_base, nominal)
    if told.presses is None:
        return float(step.amount_base)
    measured = [p.ul_per_press for p in facts.pressed.get(container.pk, ()) if p.day <= day]
    return float(press.given_by(told.presses, measured[-1] if measured else nominal))


def _runs(
    line: str, first: date, days: list[tuple[float, str, By]], base: float
) -> Iterator[PlanSegment]:
    """Equal days put together."""
    start = 0
    for n in range(1, len(days) + 1):
        same = n < len(days) and (days[n][0], days[n][2]) == (days[start][0], days[start][2])
        if same:
            continue
        amount, _, by = days[start]
        if amount:
            yield PlanSegment(
                line,
                by,
                first + timedelta(days=start),
                first + timedelta(days=n),
                EVERY_DAY,
                amount / base,
            )
        start = n


def _ahead(
    facts: StockFacts,
    container: Container,
    own: list[Feed],
    steps: list[Step],
    line: str,
    base: float,
) -> Iterator[PlanSegment]:
    tomorrow = facts.today + timedelta(days=1)
    feed = next((f for f in own if f.holds(facts.today)), None)
    if feed is None:
        return
    for step in steps:
        if step.to_on is not None and step.to_on <= tomorrow:
            continue
        amount = _instructed(facts, container, step, tomorrow) * feed.share_permille / 1000
        yield PlanSegment(
            line,
            cast("By", step.means),
            max(step.from_on, tomorrow),
            step.to_on,
            step.weekdays,
            amount / base,
        )
