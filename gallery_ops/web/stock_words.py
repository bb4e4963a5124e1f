"""The stock page's rows in words: what is left, since when known, the three dates, what to do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.drawing import Axis, Level
from gallery_ops.kernel.values.quantity import quantity
from gallery_ops.web import words
from inventory.queries.stock_item import ItemPage
from inventory.queries.stock_page import StockPage, StockRow

FAR_DAYS = 56
COUNTS = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine")


NINE = (
    "last_measured", "plan", "learned", "changes_ahead", "skipped", "deliveries", "reorder_point",
    "on_order", "past_errors",
)  # fmt: skip
"""The answers of because, always in this order."""


@dataclass(frozen=True, slots=True)
class StripRow:
    """One supply as the part ``range_strip`` wants it."""

    name: str
    href: str
    left: str
    measured: str
    level: Level
    dates: str
    reasons: list[Mapping[str, Any]]
    do: str
    do_more: str
    do_href: str
    buy_href: str
    """Where it is bought, for what must be ordered today."""
    harm_class: str
    row: StockRow

    @property
    def add_href(self) -> str:
        """Where it is put on an order: not a cylinder, and somebody sells it."""
        if self.row.container is not None or self.row.pack is None:
            return ""
        return reverse("item_order", args=[self.row.item.code])


def axis_of(page: StockPage, days: int) -> Axis:
    """The time axis that all strips share."""
    return Axis(page.today, days, page.deliveries, page.closures)


def strip_row(row: StockRow, today: date, now: datetime, far_days: int = FAR_DAYS) -> StripRow:
    """One row in words."""
    dates = three_dates(row, today, far_days)
    do, more = to_do(row, today)
    left = _left(row)
    return StripRow(
        name=row.name,
        href=_href(row),
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
        reasons=reasons(row),
        do=do,
        do_more=more,
        buy_href=_page("buy_list") if row.to_do == "order" and _is_due(row, today) else "",
        do_href=reverse("alert_detail", args=[row.alert_uid]) if row.alert_uid else "",
        harm_class=row.harm_class,
        row=row,
    )


def _is_due(row: StockRow, today: date) -> bool:
    return row.act_by is not None and row.act_by <= today


def _href(row: StockRow) -> str:
    if row.container is not None:
        return reverse("container_detail", args=[row.container.code])
    return reverse("stock_item", args=[row.item.code])


def _left(row: StockRow) -> str:
    left = words.amount(row.level)
    if row.container is not None:
        return _("%(left)s net") % {"left": left}
    if row.containers > 1:
        said = ngettext(
            "%(left)s in %(n)d container", "%(left)s in %(n)d containers", row.containers
        )
        return said % {"left": left, "n": row.containers}
    if row.opened_on is not None:
        return _("%(left)s, opened %(day)s") % {
            "left": left,
            "day": words.day_month(row.opened_on),
        }
    return left


def _measured(row: StockRow, now: datetime) -> str:
    if row.is_below_nothing:
        said = _("Estimate is below nothing: count it")
    elif row.is_never_measured or row.measured_at is None:
        said = _("Guess from plan only, weigh it once")
    else:
        said = _("weighed %(ago)s") % {"ago": words.ago(row.measured_at, now)}
    if row.is_pending:
        return f"{said}. {_('As of %(at)s, asking again') % {'at': words.when(row.level_at, now)}}"
    return said


def reasons(row: StockRow) -> list[Mapping[str, Any]]:
    """The nine answers in their order, with what is known now of orders and of past errors."""
    told = {str(answer.get("what")): dict(answer) for answer in row.because}
    if not told:
        return []
    if row.measured_at is not None and row.measured_by and told.get("last_measured", {}).get("on"):
        told["last_measured"]["by"] = row.measured_by
    told["on_order"] = {
        "what": "on_order",
        "coming": [
            {
                "amount": quantity(row.item.dimension, one.base),
                "order": one.order_number,
                "from": one.expected_from,
                "to": one.expected_to,
            }
            for one in row.on_order
        ],
    }
    told["past_errors"] = {
        "what": "past_errors",
        "n": row.scored,
        "inside": row.inside,
        "early_days": row.early_days,
        "href": _page("forecast_report"),
        "link": _("Report card") if _page("forecast_report") else "",
    }
    keys = [key for key in NINE if key in told] + [key for key in told if key not in NINE]
    return [told[key] for key in keys] + [{"what": "habit", **one} for one in row.habits]


def _page(name: str) -> str:
    """Address of a page, or nothing where there is no such page."""
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


def three_dates(row: StockRow, today: date, far_days: int = FAR_DAYS) -> str:
    """Earliest, likely, latest; beyond the axis of so many days only about when."""
    if row.too_old is not None and row.likely is not None and row.too_old < row.likely:
        return _("Would last to %(likely)s. Too old on %(old)s") % {
            "likely": _day(row.likely),
            "old": _day(row.too_old),
        }
    if row.likely is None or row.earliest is None:
        if row.to_do in {"plan", "wait"}:
            return (
                _("Nothing is planned with it: no date is made up") if row.to_do == "plan" else ""
            )
        return _("Not within a year")
    if (row.earliest - today).days > far_days:
        return _("After %(day)s, likely %(month)s") % {
            "day": _day(today + timedelta(days=far_days)),
            "month": _month(row.likely, today),
        }
    said = _("%(earliest)s, likely %(likely)s, latest %(latest)s") % {
        "earliest": _day(row.earliest),
        "likely": _day(row.likely, row.earliest),
        "latest": _day(row.latest, row.likely) if row.latest else _("later than a year"),
    }
    return _("%(dates)s, to 5 %% left") % {"dates": said} if row.container is not None else said


def _day(day: date, after: date | None = None) -> str:
    """25 March; only 26 after a day of the same month."""
    if after is not None and (day.year, day.month) == (after.year, after.month):
        return str(day.day)
    return f"{day.day} {_(words.MONTHS[day.month - 1])}"


def _month(day: date, today: date) -> str:
    name = _(words.MONTHS[day.month - 1])
    return name if day.year == today.year else f"{name} {day.year}"


def to_do(row: StockRow, today: date) -> tuple[str, str]:
    """What to do by when, in bold, and the line under it."""
    by = words.day(row.act_by, today) if row.act_by else ""
    late = _is_due(row, today)
    pack = words.amount(row.pack) if row.pack else ""
    source = ", ".join(part for part in (pack, row.supplier_name) if part)
    if row.to_do == "order":
        until = f" {row.order_until:%H:%M}" if row.order_until else ""
        head = _("Order by today") + until if late else _("Order by %(day)s") % {"day": by}
        harm = _("Class A: animals depend on it") if row.harm_class == "A" else ""
        return head, ". ".join(part for part in (source, harm) if part)
    if row.to_do == "exchange":
        head = _("Exchange by today") if late else _("Exchange by %(day)s") % {"day": by}
        return head, _("needs C3")
    return {
        "leak": (_("Look for a leak first"), _("a C3, never alone, room alarm read first")),
        "too_old": (
            _("Open the next by %(day)s") % {"day": by} if by else _("Open the next"),
            _("and buy a smaller one"),
        ),
        "press": (_("Change the instruction of its pump"), _("a press is not what it says")),
        "why": (_("Find out why"), _("it did not go as expected")),
        "count": (_("Count it today"), _("the books say less than nothing")),
        "weigh": (_("Weigh it once"), _("until then it is a guess from the plan")),
        "ask": (_("Ask the supplier"), _("no delivery is known, so no order-by is made up")),
        "plan": (_("No forecast"), _("Is it used at all? Give it a plan, or count it.")),
        "wait": (_("Not counted yet"), _("the first forecast is being made")),
    }.get(row.to_do, (_("Nothing to do"), ""))


def lede(page: StockPage) -> tuple[str, str]:
    """The page's answer in two sentences."""
    n = page.to_order_today
    first = (
        ngettext("%(n)s thing to order today.", "%(n)s things to order today.", n)
        % {"n": _(COUNTS[n]) if n < len(COUNTS) else n}
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


def item_lede(page: ItemPage, rows: Sequence[StripRow]) -> str:
    """What is left of an item, and when it is gone."""
    if not rows:
        return _("None of it is in use here.") if page.rows else _("None of it is here.")
    first = rows[0]
    if first.row.container is None:
        return f"{first.left}. {first.dates}." if first.dates else f"{first.left}."
    said = ngettext(
        "%(n)d cylinder in use holds %(left)s. First %(name)s: %(dates)s.",
        "%(n)d cylinders in use hold %(left)s. First %(name)s: %(dates)s.",
        page.lines_in_all,
    )
    return said % {
        "n": page.lines_in_all,
        "left": words.amount(page.level).replace(" ", "\u00a0"),
        "name": first.name,
        "dates": first.dates,
    }
