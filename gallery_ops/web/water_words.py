"""Why does the program say so of the water and its planting? Its figures, put into words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.web.age_words import AGE_TERMS
from gallery_ops.web.words import clock_time, day, local, number

_LEVELS = {
    "watch": gettext_lazy("watch, from 0.0125"),
    "act": gettext_lazy("act, from 0.02"),
    "emergency": gettext_lazy("emergency, from 0.05"),
}


def water_trend(r: Mapping[str, Any]) -> str:
    """A trend with all that it was read off."""
    said = _(
        "%(parameter)s %(now)s%(unit)s, %(per)s%(unit)s a week over %(days)s days (n = %(n)s), the "
        "median of all pairs; alarm limit %(limit)s%(unit)s, reached %(on)s"
    ) % {
        "parameter": r["parameter"],
        "unit": f" {r['unit']}" if r.get("unit") else "",
        "now": number(r["now"], 2),
        "per": number(r["per_week"], 2),
        "days": number(r["over_days"]),
        "n": number(r["n"]),
        "limit": number(r["limit"], 2),
        "on": day(date.fromisoformat(str(r["on"]))),
    }
    kit = [r["method"]] if r.get("method") else []
    kit += [_("lot %(lot)s") % {"lot": r["lot"]}] if r.get("lot") else []
    return f"{said}. {_('All of them by')} {', '.join(kit)}" if kit else said


def _moment(text: str) -> str:
    at = datetime.fromisoformat(text)
    return f"{day(local(at).date())}, {clock_time(at)}"


def reading_alarm(r: Mapping[str, Any]) -> str:
    """The reading, who read it when, and the range that it left."""
    low, high, unit = r.get("low"), r.get("high"), f" {r['unit']}" if r.get("unit") else ""
    said = _("%(parameter)s %(value)s, read %(at)s by %(by)s") % {
        "parameter": r["parameter"],
        "value": r["value"],
        "at": _moment(str(r["at"])),
        "by": r["by"],
    }
    if low is not None and high is not None:
        span = _("%(low)s to %(high)s%(unit)s") % {
            "low": number(low, 2),
            "high": number(high, 2),
            "unit": unit,
        }
    elif high is not None:
        span = _("at most %(high)s%(unit)s") % {"high": number(high, 2), "unit": unit}
    elif low is not None:
        span = _("at least %(low)s%(unit)s") % {"low": number(low, 2), "unit": unit}
    else:
        return said + ". " + _("It closes when it is read anew and is as it should be")
    return (
        said + ". " + _("Alarm outside %(span)s. It closes with a reading inside") % {"span": span}
    )


def ammonia_tonight(r: Mapping[str, Any]) -> str:
    """What was measured, at which pH and warmth it was worked out, and which level it reaches."""
    said = _(
        "%(total)s mg/L as N measured %(on)s, at pH %(ph)s and %(degc)s °C %(un)s mg/L as N of it "
        "un-ionised: %(level)s mg/L"
    ) % {
        "total": number(r["total"], 3),
        "on": day(date.fromisoformat(str(r["on"]))),
        "ph": number(r["ph"], 2),
        "degc": number(r["degc"], 1),
        "un": number(r["un_ionised"], 4),
        "level": str(_LEVELS.get(str(r["level"]), r["level"])),
    }
    if not r.get("has_night"):
        said += ". " + _("No pH was measured with the lamps off: the night may be higher")
    if not r.get("degc_read"):
        said += ". " + _("No temperature was read: 25 °C taken")
    return said


def interlock(r: Mapping[str, Any]) -> str:
    """What does not fit between lamps, gas, heater and filter, with its figure and its limit."""
    said = {
        "light_without_gas": _(
            "%(n)s h of light a day without gas; about %(limit)s h at its end are usual. Plants "
            "starve of it, and algae take the light"
        ),
        "gas_after_light": _(
            "gas runs %(n)s h after the lamps are off: plants no longer take it up, and animals "
            "breathe it through the night"
        ),
        "gas_long_before": _(
            "gas runs %(n)s h in the dark before the lamps; one to two are usual, at most %(limit)s"
        ),
        "weak_heater": _(
            "at full power, with nothing lost, the heater warms this water by %(n)s K an hour; "
            "below %(limit)s it cannot hold a cold night"
        ),
        "low_flow": _(
            "the filter gives %(n)s of its clean flow; below %(limit)s it asks for its service"
        ),
    }[str(r["found"])]
    if r["found"] == "low_flow":
        values = {
            "n": f"{number(float(r['is_so']) * 100, 0)} %",
            "limit": f"{number(float(r['limit']) * 100, 0)} %",
        }
    else:
        values = {"n": number(r["is_so"], 2), "limit": number(r["limit"], 2)}
    return said % values


def gas_sign(r: Mapping[str, Any]) -> str:
    """The drop checker or the pH that it was read off, and what is usual."""
    if r["found"] == "ph_swing":
        said = _(
            "pH %(dark)s in the dark (%(dark_at)s), %(lit)s in the light (%(lit_at)s): %(size)s "
            "apart, asked about above %(limit)s"
        ) % {
            "dark": number(r["dark"], 2),
            "dark_at": _moment(str(r["dark_at"])),
            "lit": number(r["lit"], 2),
            "lit_at": _moment(str(r["lit_at"])),
            "size": number(r["size"], 2),
            "limit": number(r["limit"], 2),
        }
        return f"{said}. {_('Both by')} {r['method']}" if r.get("method") else said
    said = _(
        "blue, read %(at)s by %(by)s, %(shone)s h after the lamps went on; it counts from "
        "%(after)s h on. It closes with another word of that time of the day"
    ) % {
        "at": _moment(str(r["at"])),
        "by": r["by"],
        "shone": number(r["shone_h"], 1),
        "after": number(r["after_h"], 1),
    }
    if not r.get("is_timer_known"):
        said += ". " + _("No timer is written down: lamps taken as on when the doors open")
    return said


WATER_TERMS: dict[str, tuple[str, Callable[[Mapping[str, Any]], str]]] = {
    "water_trend": ("Readings", water_trend),
    "reading_alarm": ("Reading", reading_alarm),
    "ammonia_tonight": ("Ammonia", ammonia_tonight),
    "interlock": ("Equipment", interlock),
    "gas_sign": ("Gas", gas_sign),
    **AGE_TERMS,
}
"""Key -> the term of its line and its sentence."""
