"""The words of the round: looks, skip reasons, and parameters with their choices."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from maintenance.schedule.looks import look_catalogue
from tanks.models import Parameter, Reading

Json = dict[str, Any]


def looks_json(language: str) -> Json:
    """What is looked at, and which fields open when it is different."""
    return {
        look.key: {"label": look.label(language), "fields": list(look.fields)}
        for look in look_catalogue().looks.values()
    }


def reasons_json() -> list[Json]:
    """The twelve reasons to skip, each with its effect in words."""

    def reason(code: str, label: str, effect: str, line: str, asks: str | None) -> Json:
        return {"code": code, "label": label, "effect": effect, "line": line, "asks": asks}

    return [
        reason(
            "not_needed",
            _("Not needed"),
            _("asks for a value; the next date moves"),
            "moves",
            "value",
        ),
        reason("short_of_time", _("Short of time"), _("stays due, counts late"), "late", None),
        reason(
            "needs_skill",
            _("Needs higher skill"),
            _("stays due for whom you choose; the manager sees it"),
            "handed",
            "person",
        ),
        reason(
            "out_of_stock",
            _("Out of stock"),
            _("stays due, counts late; the manager sees it"),
            "late",
            None,
        ),
        reason(
            "tool_broken",
            _("Tool broken"),
            _("stays due, counts late; the fault is written down, the manager sees it"),
            "late",
            "words",
        ),
        reason(
            "animals_rest",
            _("Animals must not be disturbed"),
            _("moves to the day you choose"),
            "moves",
            "date",
        ),
        reason(
            "event",
            _("Filming or event"),
            _("moves to the hour you choose, today"),
            "moves",
            "hour",
        ),
        reason(
            "tank_empty",
            _("Tank empty, out of service"),
            _("no longer due today"),
            "rests",
            None,
        ),
        reason(
            "danger",
            _("Stopped because of danger"),
            _("opens First minute; stays due, the manager sees it"),
            "first_minute",
            None,
        ),
        reason(
            "already_done",
            _("Already done by somebody"),
            _("links that entry, or is kept as said; counts done"),
            "linked",
            "entry",
        ),
        reason(
            "no_supply",
            _("No water or no power"),
            _("opens First minute; stays due, the manager sees it"),
            "first_minute",
            None,
        ),
        reason(
            "other",
            _("Another reason"),
            _("in words; stays due, counts late"),
            "late",
            "words",
        ),
    ]


def word_label(key: str, word: str) -> str:
    """A word of a list parameter for people."""
    return _words().get((key, word)) or word.replace("_", " ")


def _words() -> dict[tuple[str, str], str]:
    return {
        ("drop_checker", "blue"): _("blue"),
        ("drop_checker", "blue_green"): _("blue-green"),
        ("drop_checker", "green"): _("green"),
        ("drop_checker", "lime"): _("lime"),
        ("drop_checker", "yellow"): _("yellow"),
        ("floor", "dry"): _("dry"),
        ("floor", "damp"): _("damp, drops"),
        ("floor", "wet"): _("water on the floor"),
        ("water_level", "to_mark"): _("to the mark"),
        ("water_level", "low"): _("below the mark"),
        ("water_level", "very_low"): _("far below the mark"),
        ("outflow", "strong"): _("strong"),
        ("outflow", "weaker"): _("weaker than it was"),
        ("outflow", "weak"): _("weak"),
        ("outflow", "none"): _("none"),
        ("gas_valve", "shut"): _("shut"),
        ("gas_valve", "open"): _("still open, or bubbles come"),
        ("feeder", "runs"): _("runs"),
        ("feeder", "low"): _("nearly empty"),
        ("feeder", "stopped"): _("does not turn"),
        ("lights", "as_planned"): _("as planned"),
        ("lights", "on"): _("on when they should be off"),
        ("lights", "off"): _("off when they should be on"),
    }


FILLS = {"blue": 0.1, "blue_green": 0.3, "green": 0.5, "lime": 0.75, "yellow": 1.0}
FIRST_MINUTE = {("drop_checker", "yellow"): "animals_gasping", ("floor", "wet"): "water"}
NORMAL = {
    ("floor", "dry"), ("water_level", "to_mark"), ("outflow", "strong"), ("gas_valve", "shut"),
    ("feeder", "runs"), ("lights", "as_planned"),
}  # fmt: skip
"""Words that say that it is as it should be: chosen under a look they make no difference."""
JUMPS = {"temperature": 2.0}
"""Largest ordinary change from yesterday (common practice, no source)."""


def parameters_json() -> Json:
    """Every parameter with unit, step and default ranges; one query."""
    return {row.key: _parameter(row) for row in Parameter.objects.all()}


def _parameter(row: Parameter) -> Json:
    if row.kind == "list":
        return {
            "label": row.name,
            "kind": "choice",
            "unit": None,
            "options": [_option(row, word) for word in row.words],
        }
    found: Json = {
        "label": row.name,
        "kind": "number",
        "unit": row.unit_text or None,
        "step": row.step,
    }
    for name in ("hard", "ask", "alarm"):
        pair = [getattr(row, f"{name}_low"), getattr(row, f"{name}_high")]
        if pair != [None, None]:
            found[name] = pair
    if row.key in JUMPS:
        found["jump"] = JUMPS[row.key]
    return found


def _option(row: Parameter, word: str) -> Json:
    option: Json = {"code": word, "label": word_label(row.key, word)}
    if row.key == "drop_checker":
        option["fill"] = FILLS[word]
    if word in row.alarm_words:
        option["alarm"] = True
    if (row.key, word) in NORMAL:
        option["normal"] = True
    card = FIRST_MINUTE.get((row.key, word))
    if card:
        option["first_minute"] = card
    return option


def reading_text(reading: Reading, mark: str) -> str:
    """A reading for people: number with the showroom's decimal mark and unit, or the word."""
    if reading.word:
        return word_label(reading.parameter.key, reading.word)
    sign = "" if reading.qualifier == "=" else reading.qualifier
    number = f"{reading.value:g}".replace(".", mark)
    unit = f" {reading.parameter.unit_text}" if reading.parameter.unit_text else ""
    return f"{sign}{number}{unit}"
