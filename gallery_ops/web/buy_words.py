"""The buy list in words: what must go by when, for how much, and what can wait."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.web import words
from gallery_ops.web.buy_row_words import Row, listed, money, number, row, start
from inventory.queries.buy_types import GROUPS, BuyLine, BuyList, BuySection

GROUP_NAMES = {
    "must": ("Must now", "would run out before the order after this one can come"),
    "join": ("Join", "would ask before the next van, so it comes with this one"),
    "build": ("For a booked build", ""),
    "optional": ("Optional", ""),
}


@dataclass(frozen=True, slots=True)
class RowGroup:
    """Rows of one kind."""

    name: str
    hint: str
    is_must: bool
    rows: list[Row]


def lede(found: BuyList, currency: str) -> tuple[str, str]:
    """What must go by when, for how much; and what can wait."""
    due = [one for one in found.sections if one.group("must") or one.group("build")]
    if not due:
        if found.next_order_by is None:
            return _("Nothing must be ordered."), ""
        day = words.day(found.next_order_by, found.today)
        return _("Nothing must be ordered before %(day)s.") % {"day": day}, ""
    first = due[0].van
    now = [one for one in due if one.van.order_by == first.order_by]
    cost = money(sum(one.to_pay for one in now), currency)
    said = ngettext(
        "%(n)s order must go %(when)s: %(cost)s to %(who)s.",
        "%(n)s orders must go %(when)s: %(cost)s to %(who)s.",
        len(now),
    ) % {
        "n": start(number(len(now))),
        "when": _by(now[0], found.today),
        "cost": cost,
        "who": listed([one.supplier.name for one in now]),
    }
    rest = due[len(now) :]
    if not rest:
        return said, ""
    more = ngettext(
        "%(n)s more can wait until %(day)s.", "%(n)s more can wait until %(day)s.", len(rest)
    ) % {"n": start(number(len(rest))), "day": words.day(rest[0].van.order_by, found.today)}
    return said, more


def _by(section: BuySection, today: date) -> str:
    """By 14:00 today, by Mon 16 March."""
    van, until = section.van, section.supplier.cut_off_at
    if van.order_by > today:
        return _("by %(day)s") % {"day": words.day(van.order_by, today)}
    if van.is_past:
        return _("today, and counts from tomorrow")
    return _("by %(at)s today") % {"at": f"{until:%H:%M}"} if until else _("today")


def order_by(section: BuySection, today: date) -> str:
    """Today 14:00, Mon 16 March 12:00."""
    until = section.supplier.cut_off_at
    day = words.day(section.van.order_by, today)
    if section.van.is_past:
        return _("today: its hour, %(at)s, is over, so it goes tomorrow") % {
            "at": f"{until:%H:%M}" if until else ""
        }
    return f"{day} {until:%H:%M}" if until else day


def window(section: BuySection) -> str:
    """19 to 24 March, n = 14 deliveries."""
    van = section.van
    a, b = van.earliest, van.latest
    first = str(a.day) if (a.year, a.month) == (b.year, b.month) else words.day(a)[4:]
    n = ngettext("n = %(n)d delivery", "n = %(n)d deliveries", van.lead.n) % {"n": van.lead.n}
    seen = n if van.lead.n else _("as they say, none seen yet")
    return _("%(a)s to %(b)s, %(seen)s") % {"a": first, "b": words.day(b)[4:], "seen": seen}


def in_all(found: BuyList, currency: str) -> tuple[str, str]:
    """All orders, and what is set aside for the month."""
    n = len([one for one in found.sections if one.goods])
    said = ngettext("%(n)s order, %(sum)s in all", "%(n)s orders, %(sum)s in all", n) % {
        "n": start(number(n)),
        "sum": money(found.to_pay, currency),
    }
    month = _(words.MONTHS[found.today.month - 1])
    if found.budget is None:
        return said, _("nothing is set aside for %(month)s yet") % {"month": month}
    kept = _("of %(sum)s set aside for %(month)s") % {
        "sum": money(found.budget, currency),
        "month": month,
    }
    if found.spent:
        kept += _(", %(sum)s of it ordered already") % {"sum": money(found.spent, currency)}
    return said, kept


def over(found: BuyList, currency: str) -> str:
    """By how much it costs too much, and what would wait."""
    waiting = [one.item.name for part in found.sections for one in part.lines if one.waits]
    if not found.over and not waiting:
        return ""
    month = _(words.MONTHS[found.today.month - 1])
    said = ""
    if found.over:
        said = _("%(sum)s more than is set aside for %(month)s. What must go does not wait.") % {
            "sum": money(found.over, currency),
            "month": month,
        }
    if waiting:
        said += " " + _("These would wait: %(names)s.") % {"names": listed(waiting)}
    return said.strip()


def groups(section: BuySection, typed: dict[str, str]) -> list[RowGroup]:
    """The four groups, those that are not empty."""
    out = []
    for group in GROUPS:
        lines = section.group(group)
        if not lines:
            continue
        name, hint = GROUP_NAMES[group]
        said = _(hint) if hint else _saves(section) if group == "optional" else _for_what(lines)
        rows = [row(line, section, typed) for line in lines]
        out.append(RowGroup(_(name), said, group == "must", rows))
    return out


def _for_what(lines: tuple[BuyLine, ...]) -> str:
    kept = [one for line in lines for one in line.spoken_for]
    first = min(kept, key=lambda one: one.needed_on)
    return f"{first.for_what}, {words.day(first.needed_on)}"


def _saves(section: BuySection) -> str:
    who, currency = section.supplier, section.supplier.showroom.currency
    goods = sum(one.cents or 0 for one in section.lines if one.group != "optional")
    if goods < who.min_order_cents:
        return _("makes the smallest order, %(sum)s; without it %(goods)s") % {
            "sum": money(who.min_order_cents, currency),
            "goods": money(goods, currency),
        }
    if who.carriage_cents and who.carriage_free_from_cents and goods < who.carriage_free_from_cents:
        return _("carriage %(sum)s falls away at %(free)s, without it %(goods)s") % {
            "sum": money(who.carriage_cents, currency),
            "free": money(who.carriage_free_from_cents, currency),
            "goods": money(goods, currency),
        }
    return _("on the draft, and nothing asks for it")


def closures(found: BuyList) -> list[str]:
    """Who is closed in the coming weeks."""
    out = []
    for section in found.sections:
        for first, end in section.closed:
            out.append(
                _("Closed: %(who)s from %(a)s, open again %(b)s.")
                % {
                    "who": section.supplier.name,
                    "a": words.day(first),
                    "b": words.day(end),
                }
            )
    return out
