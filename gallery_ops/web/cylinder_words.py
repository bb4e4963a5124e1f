"""How are a cylinder and the air of its room said and drawn?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _

from gallery_ops.drawing.cylinder import (
    Piece,
    Reach,
    cylinder_svg,
    gas_use_svg,
    months,
    months_svg,
    reach_svg,
)
from gallery_ops.drawing.strip import Axis
from gallery_ops.web import words
from inventory.forecast.cusum import LIMIT, run_length
from inventory.queries.cylinder_register import CylinderRow
from tanks.science.cylinder_tests import RULES

AXIS_DAYS = 184
FAR_DAYS = 184
PIECES = 4


@dataclass(frozen=True, slots=True)
class RowView:
    """One line of the register, in words and drawings."""

    row: CylinderRow
    name: str
    title: str
    place: str
    serial: str
    left: str
    measured: str
    art: str
    use: str
    since: str
    reach: str
    dates: str
    test: str
    test_strong: str
    test_mark: str
    watch: str
    spare: str


def axis_of(today: date) -> Axis:
    """Half a year from today, shared by all lines."""
    return Axis(first=today, days=AXIS_DAYS)


def months_head(axis: Axis) -> str:
    """The names of the months above the lines."""
    return months_svg(axis, [words.date_in("en", day, "MMM") for day in months(axis)])


def row_view(
    row: CylinderRow, titles: Mapping[str, str], axis: Axis, now: datetime, spare: str = ""
) -> RowView:
    """A line of the register."""
    use, since = _use(row, row.today)
    strong, test, mark = test_words(row)
    return RowView(
        row=row,
        name=", ".join(row.codes) or row.detail.serial,
        title=titles.get(row.codes[0], "") if len(row.codes) == 1 else "",
        place=place_words(row),
        serial=serial_words(row),
        left=_("%(left)s of %(fill)s")
        % {"left": grams(row.content.mg), "fill": words.number(row.fill.mg / 1000, 0)},
        measured=measured_words(row, now),
        art=cylinder_svg(row.fill.mg / 1e6, row.part_of_full),
        use=use,
        since=since,
        reach=reach_svg(Reach(row.earliest, row.likely, row.latest, row.exchange_by), axis),
        dates=dates_words(row),
        test=test,
        test_strong=strong,
        test_mark=mark,
        watch=watch_words(row),
        spare=spare,
    )


def grams(milligrams: int) -> str:
    """Whole grams with thousands set apart: 1,240 g."""
    return f"{words.number(round(milligrams / 1000), 0)} g"


def serial_words(row: CylinderRow) -> str:
    """Its serial and how it is filled again; in the store, what it waits for."""
    if row.fed:
        return _("%(serial)s, %(how)s") % {"serial": row.detail.serial, "how": how_words(row)}
    state = _("begun")
    if row.is_away:
        state = _("away for a refill")
    elif row.detail.is_marked_empty:
        state = _("marked EMPTY")
    elif row.is_spare:
        state = _("waits full")
    return f"{state}, {how_words(row)}"


def how_words(row: CylinderRow) -> str:
    """Exchanged for another, or refilled."""
    return _("exchange") if row.detail.is_exchange else _("refill")


def place_words(row: CylinderRow) -> str:
    """Where it stands and how it is held; says so when nobody wrote that down."""
    held = row.detail.held_by
    if not row.fed:
        return ", ".join(part for part in (row.container.place, held) if part)
    parts = [part for part in (row.container.place, held) if part]
    if len(row.fed) > 1:
        n = len(row.fed)
        parts.append(_("share of %(n)d tanks, estimated") % {"n": n})
    return ", ".join(parts) or _("how it is held: not written down")


def measured_words(row: CylinderRow, now: datetime) -> str:
    """How old the last weighing is."""
    if row.measured_at is None:
        return _("never weighed: a guess")
    return _("weighed %(ago)s") % {"ago": words.ago(row.measured_at, now)}


def dates_words(row: CylinderRow) -> str:
    """When it is down to what stays in it; far away only about when."""
    if row.earliest is None:
        return _("Not within a year") if row.fed else ""
    if (row.earliest - row.today).days > FAR_DAYS:
        likely = words.day_month(row.likely) if row.likely else _("later than a year")
        return _("After %(day)s, likely %(likely)s") % {
            "day": words.day_month(row.earliest),
            "likely": likely,
        }
    return _("%(earliest)s, likely %(likely)s, latest %(latest)s") % {
        "earliest": words.day_month(row.earliest),
        "likely": words.day_month(row.likely) if row.likely else _("later than a year"),
        "latest": words.day_month(row.latest) if row.latest else _("later than a year"),
    }


def test_words(row: CylinderRow) -> tuple[str, str, str]:
    """What is said of the next test: strong part, what stands before it, a mark."""
    tested = row.detail.tested_on
    stamp = _("stamp %(year)s") % {"year": tested.year} if tested else _("no stamp read")
    day = row.detail.next_test_on
    if day is None:
        return _("next test: nobody said"), f"{stamp},", "too_old"
    if row.test == "ran_out":
        return _("test ran out, not filled again"), f"{stamp},", "too_old"
    if row.test == "before_next_fill":
        return _("due before the next fill"), _("%(stamp)s, test") % {"stamp": stamp}, "too_old"
    return str(day.year), _("%(stamp)s, next test") % {"stamp": stamp}, ""


def rule_words(row: CylinderRow) -> str:
    """By which rule the next test was set."""
    rule = row.detail.test_rule
    if rule in RULES:
        return f"{RULES[rule].name} ({RULES[rule].source})"
    return _("as typed off the stamp") if row.detail.next_test_on else _("no rule was named")


def watch_words(row: CylinderRow) -> str:
    """What the sum that watches its use says, with how seldom it is wrong."""
    line = row.line
    if not row.fed or line.run is None or not line.is_over or line.since is None:
        return ""
    return _("%(now)s g a day since %(day)s, usually %(usual)s") % {
        "now": _one(line.g_per_day),
        "usual": _one(line.usual_since),
        "day": words.day_month(line.since),
    }


def run_words(row: CylinderRow) -> str:
    """How the sum stands, for the page of one cylinder."""
    run = row.line.run
    if run is None:
        return _(
            "Too few weighings for a usual of its own: %(n)d of the four and three weeks needed."
        ) % {"n": row.line.intervals}
    stand = _("over its limit") if run.is_over else _("below its limit")
    return _("The sum stands at %(value)s of %(limit)s, %(stand)s, after %(n)d weighings.") % {
        "value": words.number(run.value, 1),
        "limit": words.number(run.limit, 0),
        "stand": stand,
        "n": run.count,
    }


def false_alarms() -> str:
    """How often the sum is wrong while nothing is."""
    return _("a false alarm about once per %(n)d weighings") % {"n": round(run_length())}


def limit_words() -> str:
    """What the sum is, in one sentence."""
    return _(
        "It adds up what lies more than half a standard deviation above the line's own median and "
        "speaks above %(limit)s; %(false)s, if weighings scatter like a bell curve."
    ) % {"limit": words.number(LIMIT, 0), "false": false_alarms()}


def _use(row: CylinderRow, today: date) -> tuple[str, str]:
    periods = row.line.periods[-PIECES:]
    if not row.fed or not periods:
        return "", ""
    pieces = [
        Piece(p.g_per_day, _one(p.g_per_day) if p.g_per_day is not None else _("not yet"))
        for p in periods
    ]
    usual = row.line.usual_g_per_day
    said = ", ".join(piece.words for piece in pieces)
    sentence = _("Grams a day by period: %(said)s; median %(usual)s") % {
        "said": said,
        "usual": _one(usual) if usual is not None else _("not known yet"),
    }
    days = ", ".join(
        words.day_month(p.start) if (today - p.start).days < 300 else str(p.start.year)
        for p in periods
    )
    return gas_use_svg(pieces, usual, sentence=sentence), _("since %(days)s") % {"days": days}


def _one(value: float | None) -> str:
    return "?" if value is None else f"{value:.1f}".replace(".", words.mark_in_use())
