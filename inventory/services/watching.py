"""Does stock behave as planned? One alert for each cause while it stands.

* what the projection found: a loss, a reading that does not fit, a gain, a late note;
* gas: where the projection found nothing, weighed use above 1.3 times the line's own median, or a
  little too much at each weighing until the sum of it passes its limit;
* press: a pump gives more than 5 % more or less than the instruction says, weighed by presses or
  learned from weighings of its bottle;
* too old: an opened container will be too old before it is used up.

Gas is class A: what leaves a cylinder unseen may be in the room where people are.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Synced, Wanted, sync_alerts
from gallery_ops.kernel.values.quantity import quantity
from inventory.forecast.because import amount
from inventory.forecast.cusum import run_length
from inventory.forecast.watch import GasRule, gas_over_own_median, press_off
from inventory.models import Container, Forecast
from inventory.queries.forecast_cases import per_unit
from inventory.queries.forecast_rows import current_forecasts
from inventory.queries.gas_use import gas_line, lines, weighed_uses
from inventory.queries.keys import container_key
from inventory.queries.stock_facts import StockFacts, is_gas, stock_facts
from inventory.services.finding_alerts import (
    FINDING,
    GAS,
    found_alerts,
    habit_because,
    habit_of,
    too_old_range,
)

PRESS, TOO_OLD = "press_off", "too_old"
USED_UP, LEAST_SHARE = 0.5, 0.05
"""Too old is told where less than this chance is to use it up, and more than this share of a full
container would be left (common practice, no source)."""


def review(
    *, showroom: Showroom, at: datetime, gas_rule: GasRule | None = None
) -> Mapping[str, Synced]:
    """Make the open alerts equal to what projections and facts say; by kind of alert.

    Thresholds of the gas rule may be handed in. Running it again changes nothing.
    """
    facts = stock_facts(showroom, at, with_finished=True)
    forecasts = {row.container_id: row for row in current_forecasts(showroom) if row.container_id}
    found = found_alerts(facts, forecasts)
    plain = {
        key: one
        for key, one in _gas(facts, gas_rule or GasRule())
        if not any(key in alerts for alerts in found.values())
    }
    wanted = {
        GAS: plain | found[GAS],
        FINDING: found[FINDING],
        PRESS: dict(_presses(facts, forecasts)),
        TOO_OLD: dict(_too_old(facts, forecasts)),
    }
    return {
        kind: sync_alerts(showroom=showroom, kind=kind, wanted=alerts, at=at)
        for kind, alerts in wanted.items()
    }


def _in_use(facts: StockFacts) -> Iterable[Container]:
    return (
        container
        for pk, container in sorted(facts.containers.items())
        if container.finished_on is None and facts.is_fed_now(pk)
    )


def _gas(facts: StockFacts, rule: GasRule) -> Iterable[tuple[str, Wanted]]:
    line_of = lines(facts)
    for container in _in_use(facts):
        if not is_gas(container):
            continue
        uses, scale_sd_g = weighed_uses(facts, container)
        found = gas_over_own_median(uses, scale_sd_g, rule)
        if found is None:
            yield from _creeping(facts, container, line_of[container.pk])
            continue
        if _is_answered(facts, container, found.start):
            continue
        tanks = facts.tanks_of(container.pk)
        now, usual = _one(found.g_per_day, facts), _one(found.usual_g_per_day, facts)
        sentence = (
            f"The cylinder of {_named(container, tanks)} loses {now} g a day since "
            f"{_day(found.start)}, usually {usual} g. Read the room alarm first; then a C3 looks "
            "for a leak, never alone."
        )
        because: dict[str, Any] = {
            "what": "gas_over_own_median",
            "from": found.start,
            "to": found.end,
            "g_per_day": round(found.g_per_day, 2),
            "planned_g_per_day": round(found.planned_g_per_day, 2),
            "usual_g_per_day": round(found.usual_g_per_day, 2),
            "times_median": rule.times_median,
            "intervals": found.intervals,
            "excess_g": round(found.excess_g, 1),
            "tanks": tanks,
        }
        yield container_key(container.pk), _about(container, "A", sentence, because)


def _creeping(
    facts: StockFacts, container: Container, line: tuple[int, ...]
) -> Iterable[tuple[str, Wanted]]:
    """A little too much at each weighing: the sum that watches the line has passed its limit."""
    told = gas_line(facts, container, line)
    if not told.is_over or told.run is None or told.since is None:
        return
    if told.g_per_day is None or told.usual_since is None:
        return
    if _is_answered(facts, container, told.since):
        return
    tanks = facts.tanks_of(container.pk)
    now, usual = _one(told.g_per_day, facts), _one(told.usual_since, facts)
    sentence = (
        f"The cylinder of {_named(container, tanks)} uses a little more at each weighing since "
        f"{_day(told.since)}: {now} g a day, usually {usual} g. Read the room alarm first; then a "
        "C3 looks for a leak, never alone."
    )
    because: dict[str, Any] = {
        "what": "gas_cusum",
        "from": told.since,
        "sum": round(told.run.value, 1),
        "limit": told.run.limit,
        "weighings": told.run.count,
        "once_in": round(run_length()),
        "g_per_day": round(told.g_per_day, 2),
        "usual_g_per_day": round(told.usual_since, 2),
        "tanks": tanks,
    }
    yield container_key(container.pk), _about(container, "A", sentence, because)


def _is_answered(facts: StockFacts, container: Container, start: date) -> bool:
    """Did somebody say since then what it was?"""
    answers = facts.found.get(container.pk, ())
    return any(start <= facts.day_of(one.said_at) for one in answers)


def _presses(facts: StockFacts, forecasts: Mapping[int, Forecast]) -> Iterable[tuple[str, Wanted]]:
    for container in _in_use(facts):
        if not container.press_nominal_ul or container.item.dimension != "volume":
            continue
        habit = habit_of(forecasts.get(container.pk))
        measured = facts.pressed.get(container.pk)
        found = measured and press_off(
            measured[-1].ul_per_press, container.press_nominal_ul, measured[-1].day
        )
        if not found:
            if habit is not None and not measured:
                yield container_key(container.pk), _pump_to_weigh(facts, container, habit)
            continue
        more = "more" if found.off_percent > 0 else "less"
        gives = quantity("volume", found.measured_ul).text(facts.showroom.decimal_mark)
        off = f"{_one(abs(found.off_percent), facts)} % {more}"
        sentence = (
            f"The pump of {container} gives {gives} a press since {_day(found.measured_on)}, {off} "
            "than the instruction: change the instruction."
        )
        because: dict[str, Any] = {
            "what": "press_off",
            "measured_on": found.measured_on,
            "measured_ul": found.measured_ul,
            "instructed_ul": found.instructed_ul,
            "off_percent": found.off_percent,
            "limit_percent": 5,
        }
        learned = [habit_because(habit)] if habit else []
        yield container_key(container.pk), _about(container, "C", sentence, because, *learned)


def _pump_to_weigh(facts: StockFacts, container: Container, habit: Mapping[str, Any]) -> Wanted:
    """Nobody has weighed its presses; the weighings of its bottle say that they are off."""
    mid, lo, hi = (
        f"{habit[k]:.2f}".replace(".", facts.showroom.decimal_mark) for k in ("mid", "lo", "hi")
    )
    sentence = (
        f"The pump of {container} gives {mid} of what is planned ({lo} to {hi}, {habit['n']} "
        "weighings): weigh 20 presses."
    )
    return _about(container, "C", sentence, habit_because(habit))


def _too_old(facts: StockFacts, forecasts: Mapping[int, Forecast]) -> Iterable[tuple[str, Wanted]]:
    for container in _in_use(facts):
        row = forecasts.get(container.pk)
        told = too_old_range(row) if row else None
        if row is None or told is None or container.opened_on is None:
            continue
        if told["used_up"] > USED_UP or told["mid"] <= LEAST_SHARE * container.capacity_base:
            continue
        unit, base = per_unit(container.item)
        level, mark = max(0, row.level_base), facts.showroom.decimal_mark
        limit = date.fromisoformat(told["on"])
        left, lo, hi = (
            quantity(container.item.dimension, amount_base).short(mark)
            for amount_base in (level, told["lo"], told["hi"])
        )
        sentence = (
            f"{container}, {container.item.name}, opened {_day(container.opened_on)}, is too old "
            f"on {_day(limit)}: of {left} some {lo} to {hi} will be left. Open the next then, and "
            "buy a smaller one."
        )
        because: dict[str, Any] = {
            "what": "too_old",
            "opened_on": container.opened_on,
            "too_old_on": limit,
            "level": amount(level / base, unit),
            "used_until": amount(max(0, level - told["mid"]) / base, unit),
            "wasted": amount(told["mid"] / base, unit),
            "wasted_from": amount(told["lo"] / base, unit),
            "wasted_to": amount(told["hi"] / base, unit),
            "used_up": told["used_up"],
            "opened_life_days": container.item.opened_life_days,
        }
        yield container_key(container.pk), _about(container, "C", sentence, because)


def _about(container: Container, harm: str, sentence: str, *because: dict[str, Any]) -> Wanted:
    return Wanted(
        harm_class=harm,
        subject_kind="container",
        subject_key=container_key(container.pk),
        sentence=sentence[:300],
        because=list(because),
    )


def _named(container: Container, tanks: list[str]) -> str:
    return ", ".join(tanks) or str(container)


def _one(value: float, facts: StockFacts) -> str:
    return f"{value:.1f}".replace(".", facts.showroom.decimal_mark)


def _day(day: date) -> str:
    return f"{day:%-d %B}"
