"""What is set aside for the orders of each month, and what was ordered?"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from gallery_ops.kernel.models import Showroom
from gallery_ops.kernel.values.day import business_day
from gallery_ops.kernel.values.money import Money
from inventory.models import MonthBudget
from inventory.queries.orders import orders, to_pay_of
from inventory.queries.suppliers import day_of

BEFORE, AHEAD = 2, 3


@dataclass(frozen=True, slots=True)
class MonthMoney:
    """One month. ``set_aside`` None: nobody said."""

    first: date
    is_now: bool
    is_past: bool
    set_aside: Money | None
    ordered: Money
    by: str
    at: datetime | None

    @property
    def left(self) -> Money | None:
        """What may still be ordered; less than nothing where more was."""
        return None if self.set_aside is None else self.set_aside - self.ordered


def months(showroom: Showroom, at: datetime) -> list[MonthMoney]:
    """Two months back to three months ahead, by the orders sent in each. Constant queries."""
    today = business_day(at, showroom.tz, showroom.cut_off_hour)
    firsts = [_month(today, n) for n in range(-BEFORE, AHEAD + 1)]
    set_aside = {
        row.month_on: row
        for row in MonthBudget.objects.of(showroom)
        .filter(month_on__in=firsts)
        .select_related("made_by")
    }
    sent = list(orders(showroom).filter(sent_at__date__gte=firsts[0] - timedelta(days=1)))
    to_pay = to_pay_of(sent)
    ordered: dict[date, int] = dict.fromkeys(firsts, 0)
    for order in sent:
        month = day_of(showroom, order.sent_at or order.made_at).replace(day=1)
        if month in ordered:
            ordered[month] += to_pay[order.pk].cents
    out = []
    for first in firsts:
        row = set_aside.get(first)
        out.append(
            MonthMoney(
                first=first,
                is_now=first == today.replace(day=1),
                is_past=first < today.replace(day=1),
                set_aside=Money(row.amount_cents, showroom.currency) if row else None,
                ordered=Money(ordered[first], showroom.currency),
                by=row.made_by.name if row else "",
                at=row.made_at if row else None,
            )
        )
    return out


def _month(today: date, offset: int) -> date:
    """The first day of the month so many months from that of a day.

    >>> _month(date(2026, 1, 31), -2), _month(date(2026, 11, 5), 3)
    (datetime.date(2025, 11, 1), datetime.date(2027, 2, 1))
    """
    years, month = divmod(today.year * 12 + today.month - 1 + offset, 12)
    return date(years, month + 1, 1)
