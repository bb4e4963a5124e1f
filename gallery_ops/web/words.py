"""How does a page say an amount, a moment, a day?

One place for the words that filters, sentences and labels share. The decimal mark belongs to the
showroom that is being shown; the middleware sets it for the request, as it sets the time zone.
"""

from __future__ import annotations

from contextvars import ContextVar
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal

from babel.dates import format_skeleton
from babel.numbers import get_currency_symbol
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from gallery_ops.kernel.values.money import Money, decimals
from gallery_ops.kernel.values.quantity import Amount

_mark: ContextVar[str] = ContextVar("decimal_mark", default=".")

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def use_mark(mark: str) -> None:
    """Show decimals with this mark from here on, in this request."""
    _mark.set("," if mark == "," else ".")


def mark_in_use() -> str:
    """Decimal mark of the showroom that is being shown."""
    return _mark.get()


def number(value: float | int | Decimal, decimals: int | None = None) -> str:
    """A number to look at: rounded, no needless zeros, thousands set apart.

    decimals : None keeps three figures
    """
    exact = Decimal(str(value))
    if decimals is None:
        decimals = min(4, max(0, 2 - exact.adjusted())) if exact else 0
    rounded = exact.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    text = f"{rounded:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    whole, point, rest = text.partition(".")
    sign, digits = ("−", whole[1:]) if whole.startswith("-") else ("", whole)
    digits = f"{int(digits):,}"
    if mark_in_use() == ",":
        digits = digits.replace(",", "\u202f")
    return f"{sign}{digits}{mark_in_use() if point else ''}{rest}"


_BIGGER = {"ml": (Decimal(1000), "L"), "mL": (Decimal(1000), "L"), "mg": (Decimal(1000), "g")}
_SHOWN = {"ml": "mL", "l": "L", "ul": "µL", "uL": "µL", "piece": "pcs", "pieces": "pcs"}


def estimate(value: float, unit: str) -> str:
    """An estimate of the forecast with its unit: about three figures."""
    exact = Decimal(str(value))
    larger = _BIGGER.get(unit)
    if larger is not None and abs(exact) >= larger[0]:
        exact, unit = exact / larger[0], larger[1]
    return f"{number(exact)} {_SHOWN.get(unit, unit)}"


def amount(value: object) -> str:
    """An amount as a screen shows it: 2.8 mL, 1.24 kg, 7 pcs."""
    if isinstance(value, Amount):
        return value.short(mark_in_use())
    if isinstance(value, dict) and {"amount", "unit"} <= value.keys():
        return estimate(value["amount"], str(value["unit"]))
    if isinstance(value, int | float | Decimal):
        return number(value)
    return "" if value is None else str(value)


def money(value: Money) -> str:
    """A price with the sign of its currency before it: £1,204.50, −£2.40, CHF 3.00."""
    sign = get_currency_symbol(value.currency, locale="en_GB")
    places = decimals(value.currency)
    whole, point, rest = f"{Decimal(abs(value.cents)).scaleb(-places):f}".partition(".")
    between = "," if mark_in_use() == "." else "\u202f"
    digits = f"{int(whole):,}".replace(",", between)
    gap = "\u00a0" if sign[-1].isalpha() else ""
    minus = "−" if value.cents < 0 else ""
    return f"{minus}{sign}{gap}{digits}{mark_in_use() if point else ''}{rest}"


def local(moment: datetime) -> datetime:
    """The moment on the clocks of the gallery."""
    return timezone.localtime(moment)


def clock_time(moment: datetime) -> str:
    """08:08."""
    return f"{local(moment):%H:%M}"


def day(value: date, today: date | None = None, *, long: bool = False) -> str:
    """A day: today, tomorrow, yesterday, Wed 18 March; with its year when that is another one."""
    if isinstance(value, datetime):
        value = local(value).date()
    if today is not None and not long:
        away = (value - today).days
        near = {0: _("today"), 1: _("tomorrow"), -1: _("yesterday")}.get(away)
        if near:
            return near
    weekday = _(WEEKDAYS[value.weekday()])
    name = f"{weekday if long else weekday[:3]} {value.day} {_(MONTHS[value.month - 1])}"
    if today is not None and value.year != today.year:
        name += f" {value.year}"
    return name


def day_month(value: date) -> str:
    """A day in short, as on an axis: 12 Mar."""
    return f"{value.day} {_(MONTHS[value.month - 1])[:3]}"


_LOCALES = {"en": "en_GB"}


def date_in(tongue: str, value: date, form: str = "MMMMd") -> str:
    """A date as that language writes it: 12 April, 12. April. form: a CLDR skeleton."""
    return format_skeleton(form, value, locale=_LOCALES.get(tongue, tongue))


def when(value: date | datetime, now: datetime) -> str:
    """When something was: 08:08 today, Wed 08:08 this week, 3 March before."""
    today = local(now).date()
    if not isinstance(value, datetime):
        return day(value, today)
    on = local(value).date()
    away = (on - today).days
    if away == 0:
        return clock_time(value)
    if away == -1:
        return f"{_('yesterday')} {clock_time(value)}"
    if -7 < away < 7:
        return f"{_(WEEKDAYS[on.weekday()])[:3]} {clock_time(value)}"
    year = f" {on.year}" if on.year != today.year else ""
    return f"{on.day} {_(MONTHS[on.month - 1])}{year}"


def ago(value: date | datetime, now: datetime) -> str:
    """How long ago: just now, 12 minutes ago, 3 days ago."""
    if isinstance(value, datetime):
        gone = now - value
        if gone < timedelta(minutes=1):
            return _("just now")
        minutes = int(gone.total_seconds() // 60)
        if minutes < 60:
            return ngettext("%d minute ago", "%d minutes ago", minutes) % minutes
        if minutes < 24 * 60:
            hours = minutes // 60
            return ngettext("%d hour ago", "%d hours ago", hours) % hours
        value = local(value).date()
    days = (local(now).date() - value).days
    if days <= 0:
        return _("today")
    if days == 1:
        return _("yesterday")
    return ngettext("%d day ago", "%d days ago", days) % days


def percent(share: float) -> str:
    """A chance or a share: under 1 %, 6 %, over 99 %."""
    if 0 < share < 0.01:
        return _("under 1 %")
    if 0.99 < share < 1:
        return _("over 99 %")
    return f"{number(share * 100, 0 if share >= 0.02 else 1)} %"
