"""How was each day told: what was given to a tank, what was skipped, what is planned ahead?

Both are told as the instruction reckons them: presses times the stated press. So the learned use
factor is what a press really gives beside what is said of it, and a press that was weighed is an
observation of that factor. A feeder whose portions were weighed gives whole portions of that mass.
A day that is planned but has no record is unticked; today's plan counts as done, since a projection
starts at the end of today.
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
        given = sum(row.asked for row in rows)
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
    if not due:
        return 0.0, "valve" if is_gas(container) else "hand"
    return amount * feed.share_permille / 1000, _by(facts, due[-1])


def _by(facts: StockFacts, step: Step) -> By:
    """A feeder whose portions were weighed is as sure as a timer; one that was not is a guess."""
    if step.means == "feeder" and facts.portioned.get((step.tank_id, step.item_id)):
        return "valve"
    return cast("By", step.means)


def _instructed(facts: StockFacts, container: Container, step: Step, day: date) -> float:
    """What the instruction for a planned amount gives on a day, as it reckons [base units]."""
    if step.means == "feeder":
        return _in_portions(facts, step, day)
    nominal = container.press_nominal_ul
    if container.item.dimension != "volume" or not nominal or step.means != "hand":
        return float(step.amount_base)
    told = press.instruction(step.amount_base, nominal)
    return float(step.amount_base if told.presses is None else told.presses * nominal)


def _in_portions(facts: StockFacts, step: Step, day: date) -> float:
    """Whole portions nearest to the plan, as they were weighed last, or first after that day."""
    weighed = facts.portioned.get((step.tank_id, step.item_id), ())
    if not weighed or not step.amount_base:
        return float(step.amount_base)
    before = [one for one in weighed if one.day <= day]
    each = (before or weighed[:1])[-1].mg_per_portion
    return float(max(1, round(step.amount_base / each)) * each)


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
            _by(facts, step),
            max(step.from_on, tomorrow),
            step.to_on,
            step.weekdays,
            amount / base,
        )
