"""The stock page's rows in words: what is left, since when known, the three dates, what to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.drawing import Axis, Level
from gallery_ops.web import words
from inventory.queries.stock_page import StockPage, StockRow

FAR_DAYS = 56


@dataclass(frozen=True, slots=True)
class StripRow:
    """One supply as the part ``range_strip`` wants it."""

    name: str
    code: str
    left: str
    measured: str
    level: Level
    dates: str
    reasons: list[Mapping[str, Any]]
    do: str
    do_more: str
    harm_class: str
    row: StockRow


def axis_of(page: StockPage, days: int) -> Axis:
    """The time axis that all strips share."""
    return Axis(page.today, days, page.deliveries, page.closures)


def strip_row(row: StockRow, today: date, now: datetime) -> StripRow:
    """One row in words."""
    dates = three_dates(row, today)
    do, more = to_do(row, today)
    left = words.amount(row.level)
    if row.containers > 1:
        left = ngettext(
            "%(left)s in %(n)d container", "%(left)s in %(n)d containers", row.containers
        ) % {"left": left, "n": row.containers}
    return StripRow(
        name=row.name,
        code=row.container.code if row.container else "",
        left=left,
        measured=_measured(row, now),
        level=Level(
            full=row.part_of_full,
            earliest=row.earliest,
            likely=row.likely,
            latest=row.latest,
            order_by=row.order_by,
            too_old=row.too_old,
            is_guess=row.is_never_measured,
            sentence=f"{row.name}: {left}. {dates}. {do}",
        ),
        dates=dates,
        reasons=row.because,
        do=do,
        do_more=more,
        harm_class=row.harm_class,
        row=row,
    )


def _measured(row: StockRow, now: datetime) -> str:
    if row.is_never_measured:
        return _("Guess from plan only, weigh it once")
    if row.is_below_nothing:
        return _("Estimate is below nothing: count it")
    ago = words.ago(row.measured_at, now) if row.measured_at else ""
    return _("weighed %(ago)s") % {"ago": ago}


def three_dates(row: StockRow, today: date) -> str:
    """Earliest, likely, latest; far away only about when."""
    if row.too_old is not None and row.likely is not None and row.too_old < row.likely:
        return _("Would last to %(likely)s. Too old on %(old)s") % {
            "likely": words.day_month(row.likely),
            "old": words.day_month(row.too_old),
        }
    if row.likely is None or row.earliest is None:
        if row.to_do == "plan":
            return _("Nothing is planned with it: no date is made up")
        return _("Not within a year")
    if (row.earliest - today).days > FAR_DAYS:
        return _("After %(day)s, likely %(month)s") % {
            "day": words.day_month(row.earliest),
            "month": words.day(row.likely, today),
        }
    latest = words.day_month(row.latest) if row.latest else _("later than a year")
    return _("%(earliest)s, likely %(likely)s, latest %(latest)s") % {
        "earliest": words.day_month(row.earliest),
        "likely": words.day_month(row.likely),
        "latest": latest,
    }


def to_do(row: StockRow, today: date) -> tuple[str, str]:
    """What to do by when, in bold, and the line under it."""
    by = words.day(row.act_by, today) if row.act_by else ""
    late = row.act_by is not None and row.act_by <= today
    pack = words.amount(row.pack) if row.pack else ""
    source = ", ".join(part for part in (pack, row.supplier_name) if part)
    if row.to_do == "order":
        return (_("Order by today") if late else _("Order by %(day)s") % {"day": by}), source
    if row.to_do == "exchange":
        head = _("Exchange by today") if late else _("Exchange by %(day)s") % {"day": by}
        return head, _("needs C3")
    return {
        "leak": (_("Look for a leak first"), _("a C3, never alone, room alarm read first")),
        "too_old": (
            _("Open the next by %(day)s") % {"day": by} if by else _("Open the next"),
            _("and buy a smaller one"),
        ),
        "press": (_("Change the instruction of its pump"), _("a press gives less than it says")),
        "count": (_("Count it today"), _("the books say less than nothing")),
        "weigh": (_("Weigh it once"), _("until then it is a guess from the plan")),
        "ask": (_("Ask the supplier"), _("no delivery is known, so no order-by is made up")),
        "plan": (_("No forecast"), _("Is it used at all? Give it a plan, or count it.")),
    }.get(row.to_do, (_("Nothing to do"), ""))


def lede(page: StockPage) -> tuple[str, str]:
    """The page's answer in two sentences."""
    n = page.to_order_today
    first = (
        ngettext("%(n)d thing to order today.", "%(n)d things to order today.", n) % {"n": n}
        if n
        else _("Nothing must be ordered today.")
    )
    if not page.rows:
        return _("Nothing is in stock yet."), ""
    if page.alive_at_risk:
        names = ", ".join(page.alive_at_risk)
        more = page.alive_at_risk_count - len(page.alive_at_risk)
        if more:
            names = _("%(names)s and %(more)d more") % {"names": names, "more": more}
        return first, _("%(names)s may run out before the next delivery.") % {"names": names}
    return first, _("Nothing that keeps animals alive runs out before its next delivery.")
