"""What the projection found beside the plan, as alerts: name, days and size, each with its range.

They accuse nobody: they name the last two measurements and what would settle it. Slow things are no
alarm; only a pump that gives another amount than its instruction asks for a hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from gallery_ops.kernel.services.alerts import Wanted
from gallery_ops.kernel.values.quantity import quantity
from inventory.models import Container, Forecast
from inventory.queries.forecast_rows import learned_factor
from inventory.queries.keys import container_key
from inventory.queries.stock_facts import StockFacts, is_gas, spoken_name

GAS, FINDING = "gas_use", "stock_finding"
PUMP_OFF = 0.05
"""A pump is told from 5 % on (common practice, no source)."""
MILD = {"wrong_reading", "unbooked_gain", "booked_late"}


def found_alerts(
    facts: StockFacts, forecasts: Mapping[int, Forecast]
) -> dict[str, dict[str, Wanted]]:
    """Alerts on what may be wrong with containers in use: by kind, then by cause."""
    out: dict[str, dict[str, Wanted]] = {GAS: {}, FINDING: {}}
    for pk, container in sorted(facts.containers.items()):
        row = forecasts.get(pk)
        if row is None or not row.finding.get("name") or not facts.is_fed_now(pk):
            continue
        if any(found.said_at > row.made_at for found in facts.found.get(pk, ())):
            continue
        kind = GAS if is_gas(container) and row.finding["name"] == "steady_loss" else FINDING
        out[kind][container_key(pk)] = _wanted(facts, container, row)
    return out


def habit_of(row: Forecast | None) -> Mapping[str, Any] | None:
    """What weighings say of a use that is off by more than 5 %: factor with its range; or None."""
    for one in row.finding.get("habits", ()) if row else ():
        if one["habit"] in {"gives_less", "gives_more"} and abs(one["mid"] - 1) > PUMP_OFF:
            told: Mapping[str, Any] = one
            return told
    return None


def habit_because(habit: Mapping[str, Any]) -> dict[str, Any]:
    """The same as a reason."""
    return {"what": "habit", **habit}


def too_old_range(row: Forecast) -> Mapping[str, Any] | None:
    """What will be left when an opened container is too old: lo, mid, hi [base units]."""
    told: Mapping[str, Any] | None = row.finding.get("too_old")
    return told


def _wanted(facts: StockFacts, container: Container, row: Forecast) -> Wanted:
    found = row.finding
    gas = is_gas(container) and found["name"] == "steady_loss"
    harm = "A" if gas else "C" if found["name"] in MILD else str(container.item.harm_class)
    return Wanted(
        harm_class=harm,
        subject_kind="container",
        subject_key=container_key(container.pk),
        sentence=" ".join(_sentence(facts, container, row))[:300],
        because=[_because(container, row)],
    )


def _sentence(facts: StockFacts, container: Container, row: Forecast) -> Iterable[str]:
    told, mark = row.finding, facts.showroom.decimal_mark
    tanks = facts.tanks_of(container.pk)
    name = spoken_name(container, tanks)
    lo, size, hi = (_amount(container, told["amount"][k], mark) for k in ("lo", "mid", "hi"))
    within = f"({lo} to {hi})"
    when = _between(told)
    if told["name"] == "steady_loss":
        yield from _steady(container, row, ", ".join(tanks) or str(container), name, mark)
    elif told["name"] == "sudden_loss":
        yield f"About {size} of {name} {within} went at once {when}:"
        yield "spilled, decanted without a note, or used elsewhere?"
    elif told["name"] == "wrong_reading":
        day = date.fromisoformat(told["to_day"])
        yield f"The weighing of {name} on {day:%-d %B} does not fit the others, by about {size}."
        yield "Was it this container, and what stood on the scale with it?"
    elif told["name"] == "unbooked_gain":
        yield f"{name} holds about {size} {within} more than is booked, since {when}:"
        yield "was it refilled?"
    else:
        yield f"A receipt of {name} seems to have come before its note, {when}: correct its day."
    if not (is_gas(container) and told["name"] == "steady_loss"):
        yield "Weigh it again today."


def _steady(container: Container, row: Forecast, tanks: str, name: str, mark: str) -> Iterable[str]:
    told, rate = row.finding, row.finding["rate_per_day"]
    usual = row.plan_base_per_day * learned_factor(row)
    if is_gas(container):
        now = _one((usual + rate["mid"]) / 1_000, mark)
        yield f"The cylinder of {tanks} loses {now} g a day, usually {_one(usual / 1_000, mark)} g;"
        yield f"it began {_between(told)}."
        yield "Read the room alarm first; then a C3 looks for a leak, never alone."
        return
    lo, mid, hi = (_amount(container, rate[k], mark) for k in ("lo", "mid", "hi"))
    yield f"{name} loses about {mid} a day beside the plan ({lo} to {hi}), since a day"
    yield f"{_between(told)}: a leak, or drawn for something else?"


def _because(container: Container, row: Forecast) -> dict[str, Any]:
    told = row.finding
    return {
        "what": "finding",
        "name": told["name"],
        "dimension": container.item.dimension,
        "from": told["from_day"],
        "to": told["to_day"],
        "within": told["within"],
        "chance": told["weight"],
        "amount": told["amount"],
        "rate_per_day": told["rate_per_day"],
        "readings": told["readings"],
        "usual_base": round(row.plan_base_per_day * learned_factor(row)),
    }


def _between(told: Mapping[str, Any]) -> str:
    start, end = (date.fromisoformat(told[k]) for k in ("from_day", "to_day"))
    if start == end:
        return f"on {start:%-d %B}"
    if start + timedelta(days=1) == end:
        return (
            f"on {start:%-d} or {end:%-d %B}"
            if start.month == end.month
            else (f"on {start:%-d %B} or {end:%-d %B}")
        )
    return f"between {start:%-d %B} and {end:%-d %B}"


def _amount(container: Container, base: int, mark: str) -> str:
    return quantity(container.item.dimension, max(0, base)).short(mark)


def _one(value: float, mark: str) -> str:
    return f"{value:.1f}".replace(".", mark)
