"""Does stock behave as planned? Three plain rules, one alert each while the cause stands.

* gas: weighed use above 1.3 times the line's own median;
* press: a pump gives more than 5 % more or less than the instruction says;
* too old: an opened container will be too old before it is used up.

The first is class A: gas that leaves a cylinder unseen may be in the room where people are.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import Any

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.services.alerts import Synced, Wanted, sync_alerts
from gallery_ops.kernel.values.quantity import quantity
from inventory.forecast.because import amount
from inventory.forecast.watch import (
    GasRule,
    gas_over_own_median,
    press_off,
    too_old_before_used_up,
)
from inventory.models import Container, Forecast
from inventory.queries.forecast_cases import per_unit
from inventory.queries.forecast_rows import current_forecasts, learned_factor
from inventory.queries.gas_use import weighed_uses
from inventory.queries.keys import container_key
from inventory.queries.stock_facts import StockFacts, is_gas, stock_facts
from inventory.services.forecast_rows import too_old_on

GAS, PRESS, TOO_OLD = "gas_use", "press_off", "too_old"


def review(
    *, showroom: Showroom, at: datetime, gas_rule: GasRule | None = None
) -> Mapping[str, Synced]:
    """Make the open alerts of the three rules equal to what the facts say; by kind of alert.

    Thresholds of the gas rule may be handed in. Running it again changes nothing.
    """
    facts = stock_facts(showroom, at, with_finished=True)
    forecasts = {row.container_id: row for row in current_forecasts(showroom) if row.container_id}
    wanted = {
        GAS: dict(_gas(facts, gas_rule or GasRule())),
        PRESS: dict(_presses(facts)),
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
    for container in _in_use(facts):
        if not is_gas(container):
            continue
        uses, scale_sd_g = weighed_uses(facts, container)
        found = gas_over_own_median(uses, scale_sd_g, rule)
        if found is None:
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


def _presses(facts: StockFacts) -> Iterable[tuple[str, Wanted]]:
    for container in _in_use(facts):
        measured = facts.pressed.get(container.pk)
        if not measured or not container.press_nominal_ul:
            continue
        found = press_off(measured[-1].ul_per_press, container.press_nominal_ul, measured[-1].day)
        if found is None:
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
        yield container_key(container.pk), _about(container, "C", sentence, because)


def _too_old(facts: StockFacts, forecasts: Mapping[int, Forecast]) -> Iterable[tuple[str, Wanted]]:
    for container in _in_use(facts):
        row, limit = forecasts.get(container.pk), too_old_on(container)
        if row is None or limit is None or container.opened_on is None:
            continue
        unit, base = per_unit(container.item)
        found = too_old_before_used_up(
            opened_on=container.opened_on,
            opened_life_days=(limit - container.opened_on).days,
            as_of=facts.today,
            level=max(0, row.level_base) / base,
            use_per_day=_use_until(facts, container, limit) * learned_factor(row) / base,
            nominal=container.capacity_base / base,
        )
        if found is None:
            continue
        mark = facts.showroom.decimal_mark
        wasted = quantity(container.item.dimension, round(found.wasted * base)).short(mark)
        left = quantity(container.item.dimension, max(0, row.level_base)).short(mark)
        sentence = (
            f"{container}, {container.item.name}, opened {_day(found.opened_on)}, is too old on "
            f"{_day(found.too_old_on)}: of {left} about {wasted} will be left. Open the next then, "
            "and buy a smaller one."
        )
        because: dict[str, Any] = {
            "what": "too_old",
            "opened_on": found.opened_on,
            "too_old_on": found.too_old_on,
            "level": amount(max(0, row.level_base) / base, unit),
            "used_until": amount(found.used_until, unit),
            "wasted": amount(found.wasted, unit),
            "opened_life_days": container.item.opened_life_days,
        }
        yield container_key(container.pk), _about(container, "C", sentence, because)


def _use_until(facts: StockFacts, container: Container, limit: date) -> float:
    """Mean planned use of the days until a date [base units a day]."""
    days = max(1, (limit - facts.today).days)
    feeds = [f for f in facts.feeds[container.pk] if f.holds(facts.today)]
    total = sum(
        step.on(facts.today + timedelta(days=n)) * feed.share_permille / 1000
        for feed in feeds
        for step in facts.plans.get((feed.tank_id, feed.item_id, feed.purpose), ())
        for n in range(1, days + 1)
    )
    return total / days


def _about(container: Container, harm: str, sentence: str, because: dict[str, Any]) -> Wanted:
    return Wanted(
        harm_class=harm,
        subject_kind="container",
        subject_key=container_key(container.pk),
        sentence=sentence[:300],
        because=[because],
    )


def _named(container: Container, tanks: list[str]) -> str:
    return ", ".join(tanks) or str(container)


def _one(value: float, facts: StockFacts) -> str:
    return f"{value:.1f}".replace(".", facts.showroom.decimal_mark)


def _day(day: date) -> str:
    return f"{day:%-d %B}"
