"""Why does the program say so? Keys and figures of a conclusion, put into words.

The rooms below give reasons as ``{"what": key, ...figures}``; each key has its sentence here. A
key without one is shown with its figures rather than swallowed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gallery_ops.kernel.values.quantity import quantity
from gallery_ops.web.tablet_words import TABLET_TERMS
from gallery_ops.web.water_words import WATER_TERMS
from gallery_ops.web.words import amount, day, number, percent

Figures = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Answer:
    """One line of because; ``href`` leads to the proof, if it has a page."""

    term: str
    text: str
    href: str = ""
    link: str = ""


def _on(value: object) -> str:
    return day(date.fromisoformat(str(value)))


def _last_measured(r: Figures) -> str:
    if not r.get("on"):
        return _("Never. A guess from plan only: weigh it once")
    said = _("%(on)s%(by)s%(age)s, %(n)s in all. Level now %(level)s, ± %(sd)s")
    return said % {
        "on": _on(r["on"]),
        "by": f" {_('by')} {r['by']}" if r.get("by") else "",
        "age": f", {_age(r['age_days'])}" if r.get("age_days") is not None else "",
        "n": number(r["n"]),
        "level": amount(r["level"]),
        "sd": amount(r["level_sd"]),
    }


def _age(days: int) -> str:
    if days <= 0:
        return _("today")
    return ngettext("%d day ago", "%d days ago", days) % days


def _plan(r: Figures) -> str:
    lines = r.get("lines", 0)
    return ngettext(
        "%(use)s a day over %(n)d line of the plan",
        "%(use)s a day over %(n)d lines of the plan",
        lines,
    ) % {"use": amount(r["per_day"]), "n": lines}


def _learned(r: Figures) -> str:
    if r.get("factor") is None:
        return _("Nothing yet: too few weighings. Plan as it stands, with a wide range")
    return _("Use is %(f)s of plan (%(a)s to %(b)s, n = %(n)s)") % {
        "f": number(r["factor"], 2),
        "a": number(r["from"], 2),
        "b": number(r["to"], 2),
        "n": number(r["n"]),
    }


def _changes(r: Figures) -> str:
    changes = r.get("changes") or []
    if not changes:
        return _("None known")
    parts = [
        _("%(line)s from %(was)s to %(becomes)s a day on %(on)s")
        % {
            "line": c["line"],
            "was": amount(c["was"]),
            "becomes": amount(c["becomes"]),
            "on": _on(c["on"]),
        }
        for c in changes[:3]
    ]
    if len(changes) > 3:
        more = len(changes) - 3
        parts.append(ngettext("%d more", "%d more", more) % more)
    return "; ".join(parts)


def _skipped(r: Figures) -> str:
    if not r.get("ticked", True):
        return _("Not ticked by people: it runs by itself")
    if not r.get("n"):
        return _("No days counted yet")
    return _("%(s)s skipped, %(u)s without a tick, of %(n)s planned") % {
        "s": percent(r["skipped"]),
        "u": percent(r["unticked"]),
        "n": number(r["n"]),
    }


def _deliveries(r: Figures) -> str:
    if not r.get("known"):
        return _("No delivery known: ask the supplier")
    chances = [
        _("before %(on)s %(p)s") % {"on": _on(d["on"]), "p": percent(d["out_before"])}
        for d in r.get("next", [])[:3]
    ]
    return "; ".join(chances) or _("No delivery in sight")


def _reorder_point(r: Figures) -> str:
    if not r.get("known"):
        return _("Not known without delivery days")
    return _("%(p)s: %(lead)s ± %(sd)s days of lead time, review every %(rev)s days") % {
        "p": amount(r["point"]),
        "lead": number(r["lead_days"]),
        "sd": number(r["lead_sd_days"]),
        "rev": number(r["review_days"]),
    }


def _on_order(r: Figures) -> str:
    """``coming``: what was ordered and is not here, soonest first."""
    if r.get("kept") is False:
        return _("Orders are not kept here yet: ask whoever buys")
    parts = [_coming(one) for one in r.get("coming") or []]
    return "; ".join(parts) or amount(r.get("level")) or _("nothing")


def _coming(one: Figures) -> str:
    words = {"amount": amount(one["amount"]), "order": one["order"], "from": _on(one["from"])}
    if not one.get("to"):
        return _("%(amount)s by order %(order)s, late: ask the supplier") % words
    if one["to"] == one["from"]:
        return _("%(amount)s by order %(order)s, likely %(from)s") % words
    said = _("%(amount)s by order %(order)s, here between %(from)s and %(to)s")
    return said % {**words, "to": _on(one["to"])}


def _past_errors(r: Figures) -> str:
    if not r.get("n"):
        return _("No forecast has run its course yet: too few to judge")
    said = ngettext(
        "Of %(n)s forecast that met its truth within a year %(in)s was inside its range",
        "Of %(n)s forecasts that met their truth within a year %(in)s were inside their range",
        int(r["n"]),
    ) % {"n": number(r["n"]), "in": number(r.get("inside", 0))}
    return f"{said}{_bias(r.get('early_days'))}"


def _bias(early_days: float | None) -> str:
    """Was the likely day sooner or later than the truth, on average?"""
    if early_days is None:
        return ""
    off = number(abs(early_days), 1)
    if off == "0":
        return f", {_('on average on the day')}"
    if early_days > 0:
        return f", {_('on average %(n)s days before the truth') % {'n': off}}"
    return f", {_('on average %(n)s days after the truth') % {'n': off}}"


def _runs_out(r: Figures) -> str:
    days = {
        key: _on(r[key]) if r.get(key) else _("beyond a year")
        for key in ("earliest", "likely", "latest")
    }
    return _("%(earliest)s at the earliest, likely %(likely)s, %(latest)s at the latest") % days


def _gas_over_own_median(r: Figures) -> str:
    return _(
        "%(g)s g a day weighed from %(from)s to %(to)s (n = %(n)s), usually %(usual)s, planned "
        "%(plan)s; the limit is %(times)s times its own median"
    ) % {
        "g": number(r["g_per_day"]),
        "from": _on(r["from"]),
        "to": _on(r["to"]),
        "n": number(r["intervals"]),
        "usual": number(r["usual_g_per_day"]),
        "plan": number(r["planned_g_per_day"]),
        "times": number(r["times_median"]),
    }


def _press_off(r: Figures) -> str:
    return _(
        "%(ml)s mL a press measured on %(on)s, the instruction says %(said)s mL; the limit is "
        "%(limit)s %%"
    ) % {
        "ml": number(r["measured_ul"] / 1000),
        "on": _on(r["measured_on"]),
        "said": number(r["instructed_ul"] / 1000),
        "limit": number(r["limit_percent"]),
    }


def _too_old(r: Figures) -> str:
    said = _("Opened %(opened)s, too old %(old)s: %(used)s used until then, %(wasted)s left") % {
        "opened": _on(r["opened_on"]),
        "old": _on(r["too_old_on"]),
        "used": amount(r["used_until"]),
        "wasted": amount(r["wasted"]),
    }
    if r.get("wasted_from") is None:
        return said
    words = {"from": amount(r["wasted_from"]), "to": amount(r["wasted_to"])}
    return said + _(" (%(from)s to %(to)s)") % words


_SEEMS = {
    "steady_loss": gettext_lazy("something goes beside the plan"),
    "sudden_loss": gettext_lazy("something went at once"),
    "wrong_reading": gettext_lazy("a reading does not fit the others"),
    "unbooked_gain": gettext_lazy("more is there than was booked"),
    "booked_late": gettext_lazy("a receipt was booked late"),
}


def _finding(r: Figures) -> str:
    def base(value: Any) -> str:
        return amount(quantity(r["dimension"], max(0, int(value))))

    size, rate = r["amount"], r.get("rate_per_day")
    said = _("%(what)s, %(from)s to %(to)s (chance %(within)s %%): %(mid)s (%(lo)s to %(hi)s)") % {
        "what": str(_SEEMS.get(str(r["name"]), r["name"])),
        "from": _on(r["from"]),
        "to": _on(r["to"]),
        "within": number(round(100 * float(r["within"]))),
        **{k: base(size[k]) for k in ("lo", "mid", "hi")},
    }
    if rate:
        words = {k: base(rate[k]) for k in ("lo", "mid", "hi")}
        said += ", " + _("%(mid)s a day (%(lo)s to %(hi)s)") % words
    return ". ".join([said, *(_reading(one, base) for one in r.get("readings") or [])])


def _reading(one: Figures, base: Callable[[Any], str]) -> str:
    words = {"on": _on(one["on"]), "value": base(one["value"])}
    if one.get("expected") is None:
        return _("Measured %(on)s: %(value)s") % words
    words["expected"] = base(one["expected"])
    return _("Measured %(on)s: %(value)s, expected %(expected)s") % words


def _gas_cusum(r: Figures) -> str:
    return _(
        "the sum of what lies above its usual is %(sum)s after %(n)s weighings, its limit is "
        "%(limit)s; while nothing is wrong it passes that about once per %(once)s weighings. "
        "%(g)s g a day since %(from)s, usually %(usual)s"
    ) % {
        "sum": number(r["sum"]),
        "n": number(r["weighings"]),
        "limit": number(r["limit"]),
        "once": number(r["once_in"]),
        "g": number(r["g_per_day"]),
        "from": _on(r["from"]),
        "usual": number(r["usual_g_per_day"]),
    }


def _habit(r: Figures) -> str:
    """A pump that gives another amount, or what days without a tick really were."""
    days = {
        "unticked_done": _("of the doses that nobody ticked %(mid)s %% were given after all"),
        "unticked_left_out": _("of the doses that nobody ticked only %(mid)s %% were given"),
    }.get(r.get("habit", ""))
    if days is not None:
        span = {key: number(max(0.0, min(100.0, 100 * r[key])), 0) for key in ("mid", "lo", "hi")}
        more = _(" (%(lo)s to %(hi)s %%, %(n)s measurements)")
        return (days + more) % {**span, "n": number(r["n"])}
    return _("%(mid)s of what is planned is given (%(lo)s to %(hi)s, %(n)s weighings)") % {
        "mid": number(round(r["mid"], 2)),
        "lo": number(round(r["lo"], 2)),
        "hi": number(round(r["hi"], 2)),
        "n": number(r["n"]),
    }


def _overdue_task(r: Figures) -> str:
    late_at = datetime.fromisoformat(str(r["late_since_at"]))
    said = _("%(task)s%(tank)s, due %(on)s, counts late since %(day)s %(clock)s (class %(harm)s)")
    return said % {
        "task": r["task"],
        "tank": f" {r['tank']}" if r.get("tank") else "",
        "on": _on(r["due_on"]),
        "day": day(late_at.date()),
        "clock": f"{late_at:%H:%M}",
        "harm": r["harm_class"],
    }


def _handover_line(r: Figures) -> str:
    where = f"{r['tank']}: " if r.get("tank") else ""
    return f"{where}{r['kind']}, {r['text']} ({_on(str(r['at'])[:10])})"


def _quick_round(r: Figures) -> str:
    return (
        f"{r['stops']} stops after the first, half of them within {r['seconds']} s of the one "
        f"before; asked about under {r['least_s']} s. Names are left out: a round is often quick "
        "because something else was burning."
    )


def _skip_of_task(r: Figures) -> str:
    said = _("skipped by %(by)s, due %(on)s: %(reason)s") % {
        "by": r["by"],
        "on": _on(r["on"]),
        "reason": r["reason"],
    }
    words = f"{said}. {r['words']}" if r.get("words") else said
    times = int(r.get("times") or 1)
    return f"{words}, {_('%(n)s times in a row') % {'n': times}}" if times > 1 else words


def _incident(_r: Figures) -> str:
    return _("Routine tasks rest and nothing is given there until somebody says that it is over.")


def _given_today(r: Figures) -> str:
    said = ngettext(
        "%(n)d dose on %(on)s, together %(given)s; the plan of a day is %(planned)s",
        "%(n)d doses on %(on)s, together %(given)s; the plan of a day is %(planned)s",
        r["times"],
    )
    return said % {
        "n": r["times"],
        "on": _on(r["on"]),
        "given": amount(quantity(r["dimension"], r["given_base"])),
        "planned": amount(quantity(r["dimension"], r["planned_base"])),
    }


_TERMS: dict[str, tuple[str, Callable[[Figures], str]]] = {
    "last_measured": ("Last measured", _last_measured),
    "plan": ("Plan", _plan),
    "learned": ("What we learned", _learned),
    "changes_ahead": ("Changes ahead", _changes),
    "skipped": ("Skipped", _skipped),
    "deliveries": ("Chance to run out first", _deliveries),
    "reorder_point": ("Textbook reorder point", _reorder_point),
    "on_order": ("On order", _on_order),
    "past_errors": ("How wrong we were", _past_errors),
    "runs_out": ("Runs out", _runs_out),
    "finding": ("Seems", _finding),
    "habit": ("Weighings say", _habit),
    "gas_cusum": ("Gas", _gas_cusum),
    "gas_over_own_median": ("Gas", _gas_over_own_median),
    "press_off": ("Pump", _press_off),
    "too_old": ("Too old", _too_old),
    "overdue_task": ("Not done", _overdue_task),
    "skip_of_task": ("Left out", _skip_of_task),
    "quick_round": ("Pace", _quick_round),
    "handover_line": ("Line", _handover_line),
    "given_today": ("Given", _given_today),
    **TABLET_TERMS,
    "incident": ("Card", _incident),
    **WATER_TERMS,
}


def answers(reasons: Iterable[Figures] | Mapping[str, Any] | None) -> list[Answer]:
    """The reasons in words, in the order in which they were given."""
    if not reasons:
        return []
    if isinstance(reasons, Mapping):
        reasons = [
            {"what": key, **(value if isinstance(value, Mapping) else {"text": value})}
            for key, value in reasons.items()
        ]
    return [_answer(r) for r in reasons]


def _answer(r: Figures) -> Answer:
    what = str(r.get("what", ""))
    if "text" in r:
        return Answer(_(str(r.get("term") or _plain(what))), str(r["text"]))
    term, say = _TERMS.get(what, (_plain(what), _unknown))
    return Answer(_(term), say(r), str(r.get("href", "")), str(r.get("link", "")))


def _plain(what: str) -> str:
    return what.replace("_", " ").capitalize()


def _unknown(r: Figures) -> str:
    said = [f"{k.replace('_', ' ')} {amount(v)}" for k, v in r.items() if k != "what"]
    return ", ".join(said)
