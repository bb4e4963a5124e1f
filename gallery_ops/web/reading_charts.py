"""Each parameter of a tank as a picture and the sentences that say the same."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gallery_ops.drawing.readings import Dot, Event, Span, lanes_svg, readings_svg
from gallery_ops.overview.readings_page import Chart, ReadingsPage
from gallery_ops.overview.tank_events import LANES
from gallery_ops.web import words
from maintenance.queries.pack_words import reading_text
from tanks.models import Reading
from tanks.science.drift import FEWEST, State

TICKS = 4
CHANGED = {"method": gettext_lazy("method"), "reagent_lot": gettext_lazy("lot")}

_KEY = '<svg class="rd-chart rd-k" width="26" height="16" aria-hidden="true">%s</svg>'
KEYS = {
    name: _KEY % inner
    for name, inner in {
        "like": '<circle class="pt" cx="13" cy="8" r="4"/>',
        "other": '<circle class="other" cx="13" cy="8" r="4"/>',
        "lim": '<path class="lim" d="M8 5h10l-5 8z"/>',
        "med": '<line class="med" x1="1" x2="25" y1="8" y2="8"/>',
        "trend": '<line class="trend" x1="1" x2="25" y1="12" y2="4"/>',
        "tgt": '<rect class="tgt" x="0" y="1" width="26" height="14"/>',
        "lot": '<line class="ev ev-lot" x1="13" x2="13" y1="0" y2="16"/>',
    }.items()
}
"""What each sign of a chart looks like, for the line that explains them."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One chart: name, last value, how it stands, the sentences below, and the picture."""

    name: str
    value: str
    count: str
    state: str
    said: list[str]
    because: str
    svg: str


def shown(page: ReadingsPage) -> list[Shown]:
    """All charts of the page, on one axis."""
    ticks = _ticks(page)
    return [_one(page, chart, ticks) for chart in page.charts]


def lanes(page: ReadingsPage) -> str:
    """What was done as a picture, a lane for each kind; empty where nothing was."""
    names = {
        "water": _("water changed"),
        "plan": _("dose or food changed"),
        "stage": _("stage"),
        "trim": _("trimmed"),
        "filter": _("filter, equipment"),
    }
    count = {kind: sum(1 for one in page.events if one.kind == kind) for kind in LANES}
    kinds = [kind for kind in LANES if count[kind]]
    events = [Event(page.part(one.at), one.kind) for one in page.events]
    said = ", ".join(f"{names[kind]} {count[kind]}" for kind in kinds)
    named = [(kind, f"{names[kind]}, {count[kind]}") for kind in kinds]
    return lanes_svg(events, named, sentence=said) if kinds else ""


def _ticks(page: ReadingsPage) -> list[tuple[float, str]]:
    step = (page.at - page.since) / TICKS
    moments = [page.since + step * nth for nth in range(TICKS)]
    return [(page.part(at), words.day_month(words.local(at).date())) for at in moments]


def _one(page: ReadingsPage, chart: Chart, ticks: list[tuple[float, str]]) -> Shown:
    mark = words.mark_in_use()
    said, because = _said(chart), _because(chart)
    value = reading_text(chart.last, mark)
    events = [Event(page.part(one.at), one.kind) for one in page.events]
    events += [Event(page.part(at), "lot") for at in _new_kits(chart)]
    svg = readings_svg(
        [_dot(page, chart, row) for row in chart.rows],
        target=(chart.ranges.alarm_low, chart.ranges.alarm_high),
        medians=_medians(page, chart),
        trend=_trend(page, chart),
        events=events,
        ticks=ticks,
        mark=mark,
        sentence=" ".join([f"{chart.parameter.name}: {value}.", *said]),
    )
    count = ngettext("%(n)d reading", "%(n)d readings", len(chart.rows)) % {"n": len(chart.rows)}
    return Shown(chart.parameter.name, value, count, _state(chart), said, because, svg)


def _state(chart: Chart) -> str:
    last = chart.last
    out = last.value is not None and chart.ranges.raises_alarm(float(last.value))
    if out and last.qualifier == "=":
        return "alarm"
    if chart.drift.state is State.AWAY or chart.reaches_on is not None:
        return "watch"
    return "few" if chart.drift.state is State.NOT_ENOUGH else "calm"


def _said(chart: Chart) -> list[str]:
    """What the readings say, most pressing first."""
    found = []
    if _state(chart) == "alarm":
        found.append(_("Outside what is wanted here: %(range)s.") % {"range": _range(chart)})
    if chart.drift.trend is not None:
        found.append(_trend_words(chart))
    what = _(" and ").join(str(CHANGED[k]) for k in chart.drift.changed if k in CHANGED)
    if what:
        said = _("New %(what)s with the newest reading: nothing is compared across it.")
        found.append(said % {"what": what})
    return [*found, _habit(chart)]


def _habit(chart: Chart) -> str:
    """How the newest stands on its own habit, or why that cannot be said."""
    drift, unit = chart.drift, _unit(chart)
    if drift.state is State.AT_LIMIT:
        return _("At the limit of its method: no number to compare.")
    if drift.usual is None or drift.allowed is None or drift.newest is None:
        return _("Not enough readings: %(n)d that can be compared, %(least)d are needed.") % {
            "n": drift.alike,
            "least": FEWEST,
        }
    said = _("Its own median is %(usual)s, and the newest lies within %(allowed)s of it.")
    if drift.state is State.AWAY:
        said = _(
            "The newest, %(value)s, stands alone: its own median is %(usual)s, and "
            "%(allowed)s away from it is usual. Measure it again."
        )
    return said % {
        "value": words.number(drift.newest.value, 2) + unit,
        "usual": words.number(drift.usual, 2) + unit,
        "allowed": words.number(drift.allowed, 2) + unit,
    }


def _trend_words(chart: Chart) -> str:
    trend, unit = chart.drift.trend, _unit(chart)
    if trend is None:
        return ""
    way = _("Rises by %(per)s a week") if trend.per_week > 0 else _("Falls by %(per)s a week")
    said = way % {"per": words.number(abs(trend.per_week), 2) + unit}
    if chart.reaches_on is None or trend.limit is None:
        return said + "."
    return _("%(said)s, and reaches %(limit)s on %(on)s.") % {
        "said": said,
        "limit": words.number(trend.limit, 2) + unit,
        "on": words.day(chart.reaches_on),
    }


def _because(chart: Chart) -> str:
    """What was compared, in one line."""
    last = chart.last
    parts = [last.method] if last.method else []
    if last.reagent_lot:
        parts.append(_("lot %(lot)s") % {"lot": last.reagent_lot})
    if last.light_phase:
        parts.append(last.get_light_phase_display())
    kit = ", ".join(parts) or _("method not said")
    trend = chart.drift.trend
    if trend is not None:
        return _(
            "Because: the median slope of all pairs of %(n)d readings in %(days)d days; %(kit)s."
        ) % {
            "n": trend.count,
            "days": round(trend.over_days),
            "kit": kit,
        }
    return _("Compared: %(n)d of this layout; %(kit)s.") % {"n": chart.drift.alike, "kit": kit}


def _unit(chart: Chart) -> str:
    return f" {chart.parameter.unit_text}" if chart.parameter.unit_text else ""


def _range(chart: Chart) -> str:
    low, high, unit = chart.ranges.alarm_low, chart.ranges.alarm_high, _unit(chart)
    if low is None:
        return _("at most %(high)s") % {"high": words.number(high or 0, 2) + unit}
    if high is None:
        return _("at least %(low)s") % {"low": words.number(low, 2) + unit}
    return _("%(low)s to %(high)s") % {
        "low": words.number(low, 2),
        "high": words.number(high, 2) + unit,
    }


def _dot(page: ReadingsPage, chart: Chart, row: Reading) -> Dot:
    kind = "like" if row.pk in chart.alike else "other"
    if row.qualifier != "=":
        kind = "below" if row.qualifier == "<" else "above"
    elif row is chart.last and chart.drift.state is State.AWAY:
        kind = "away"
    return Dot(page.part(row.done_at_corrected), float(row.value or 0), kind)


def _kit(row: Reading) -> tuple[str, str, str]:
    return row.method, row.reagent_lot, row.light_phase


def _medians(page: ReadingsPage, chart: Chart) -> list[Span]:
    """A median for each kit and light, across its own readings only."""
    groups: dict[tuple[str, str, str], list[Reading]] = defaultdict(list)
    for row in chart.rows:
        if row.qualifier == "=":
            groups[_kit(row)].append(row)
    found = []
    for rows in groups.values():
        if len(rows) >= FEWEST:
            level = median(float(row.value or 0) for row in rows)
            begin, end = page.part(rows[0].done_at_corrected), page.part(rows[-1].done_at_corrected)
            found.append(Span(begin, level, end, level))
    return found


def _trend(page: ReadingsPage, chart: Chart) -> Span | None:
    trend = chart.drift.trend
    if trend is None:
        return None
    end = max(row.done_at_corrected for row in chart.rows if row.pk in chart.alike)
    begin = end - timedelta(days=trend.over_days)
    before = trend.now - trend.per_week * trend.over_days / 7
    return Span(page.part(begin), before, page.part(end), trend.now)


def _new_kits(chart: Chart) -> list[datetime]:
    """Moments at which another method or lot was used than the time before."""
    found, before = [], None
    for row in chart.rows:
        kit = row.method, row.reagent_lot
        if before is not None and kit != before:
            found.append(row.done_at_corrected)
        before = kit
    return found
