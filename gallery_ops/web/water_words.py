"""Why does the program say so of the water? Its figures, put into words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.web.words import day, number

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
