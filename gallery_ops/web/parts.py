"""Which filters and tags does every template have?

Filters: amount, money, in_grams, when, day, clock, ago, because. Tags: mark, icon, front_view,
walk, strip, axis, places, look. They format and draw; they ask nothing of the database and decide
nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django import template
from django.urls import NoReverseMatch, reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from gallery_ops import drawing
from gallery_ops.drawing.stock import gauge_svg
from gallery_ops.kernel import clock as machine
from gallery_ops.kernel.values.money import Money
from gallery_ops.kernel.values.quantity import Mass, Volume
from gallery_ops.web import words
from gallery_ops.web.because import Answer, answers

register = template.Library()

LOOKS = ("light", "dark", "dim")
LOOK_COOKIE = "look"


@register.filter
def amount(value: object) -> str:
    """An amount as a screen shows it: {{ row.left|amount }} gives 2.71 L."""
    return words.amount(value)


@register.filter
def signed(value: object) -> str:
    """An amount that came or went: +500 mL, −3 mL."""
    text = words.amount(value).replace("-", "−")
    return text if text.startswith(("−", "0 ")) else f"+{text}"


@register.filter
def amount_exact(value: Volume | Mass) -> str:
    """An amount that was measured, not rounded: 0.924 mL."""
    return value.text(words.mark_in_use())


@register.filter
def share(value: float) -> str:
    """A signed part of a whole: −2.4 %, +15 %."""
    text = words.number(value * 100, 1)
    return f"{text if text.startswith('−') or text == '0' else f'+{text}'} %"


@register.filter
def money(value: Money | None) -> str:
    """A price with the sign of its currency: {{ row.to_pay|money }} gives £154.30."""
    return "" if value is None else words.money(value)


@register.filter
def in_grams(value: Mass | None) -> str:
    """A mass exactly, in the unit of the field beside it: 2246 g."""
    return "" if value is None else value.text(words.mark_in_use(), "g")


@register.filter
def when(value: date | datetime | None, form: str = "") -> str:
    """A moment or a day in words. form: "" (near), "day", "long", "clock", "ago", "axis"."""
    if value is None:
        return ""
    now = machine.now()
    today = words.local(now).date()
    if form == "clock" and isinstance(value, datetime):
        return words.clock_time(value)
    if form == "ago":
        return words.ago(value, now)
    on = words.local(value).date() if isinstance(value, datetime) else value
    if form == "day":
        return words.day(on, today)
    if form == "long":
        return words.day(on, today, long=True)
    if form == "axis":
        return words.day_month(on)
    return words.when(value, now)


@register.filter
def because(reasons: Iterable[Mapping[str, Any]] | Mapping[str, Any] | None) -> list[Answer]:
    """Reasons with term and text, for the part because.html."""
    return answers(reasons)


@register.filter
def whole(value: float) -> str:
    """A number without its unit, at most three figures."""
    return words.number(value)


@register.filter
def litres(value: float) -> str:
    """A volume of glass in litres, to two decimals."""
    return words.number(value, 2)


@register.simple_tag
def mark(name: str) -> SafeString:
    """One of the marks, silent: its word must stand beside it. {% mark "done" %}"""
    return mark_safe(drawing.mark(name))


@register.simple_tag
def icon(name: str) -> SafeString:
    """The same as mark."""
    return mark_safe(drawing.mark(name))


CLASS_MARKS = {"A": "class_a", "B": "class_b", "C": "class_c", "D": "class_d"}


@register.simple_tag
def class_mark(harm_class: str) -> SafeString:
    """Mark of a harm class; the letter must stand beside it. {% class_mark alert.harm_class %}"""
    return mark_safe(drawing.mark(CLASS_MARKS[harm_class]))


@register.simple_tag
def front_view(
    shape: drawing.TankShape,
    detail: str = "page",
    *,
    css: str = "",
    label: str = "",
    scale: float | None = None,
    lamp: bool = False,
    numbered: bool = False,
    key: str = "",
) -> SafeString:
    """A tank, drawn. Without label it is decoration beside its caption.

    {% front_view tank.shape "page" css="tank-hero" label=tank.name lamp=True %}
    """
    return mark_safe(
        drawing.svg(
            shape,
            drawing.Detail(detail),
            css=css,
            label=label or None,
            px_per_cm=scale,
            lamp=lamp,
            numbered=numbered,
            key=key,
        )
    )


@register.simple_tag
def walk(
    stops: Sequence[drawing.Stop], *, label: str = "", round: bool = False, key: str = ""
) -> SafeString:
    """The walk, on as many floors as it needs. round: larger codes for a tablet."""
    label = label or _("The walk, in order")
    room: dict[str, Any] = {"letters": 32, "narrowest": 52.0} if round else {}
    rows = drawing.floors(stops)
    length = max((drawing.walk_length(row, room.get("narrowest", 42.0)) for row in rows), default=0)
    return mark_safe(
        "".join(
            drawing.walk(
                row,
                label=label if len(rows) == 1 else f"{label}, {i} / {len(rows)}",
                length=length,
                key=key,
                **room,
            )
            for i, row in enumerate(rows, start=1)
        )
    )


@register.simple_tag
def strip(level: drawing.Level, axis: drawing.Axis) -> SafeString:
    """The range strip of one supply. {% strip row.level axis %}"""
    return mark_safe(drawing.strip_svg(level, axis))


@register.simple_tag
def strip_axis(axis: drawing.Axis) -> SafeString:
    """The axis above all strips of a page."""
    return mark_safe(drawing.axis_svg(axis, words.day_month))


@register.simple_tag
def gauge(row: Any, label: str = "") -> SafeString:
    """How full a container is: {% gauge row label="..." %}; without label beside its words."""
    unusable = row.unusable.base / row.full.base if row.full.base else 0.0
    return mark_safe(gauge_svg(row.part_of_full, unusable=unusable, sentence=label))


@register.simple_tag
def svg(text: str) -> SafeString:
    """A drawing that a query has made already with the drawing module."""
    return mark_safe(text)


@dataclass(frozen=True, slots=True)
class Place:
    """An entry of the masthead."""

    word: str
    href: str
    is_here: bool
    key: str
    count: int = 0


_PLACES = (
    ("today", "Today", "day_board", "d"),
    ("tanks", "Tanks", "tank_wall", "t"),
    ("stock", "Stock", "stock_forecast", "s"),
    ("tasks", "Tasks", "task_plan", "k"),
    ("alerts", "Alerts", "alert_list", "a"),
)


@register.simple_tag
def places(here: str = "", open_alerts: int = 0) -> list[Place]:
    """Entries of the masthead that lead to something built. {% places here as entries %}"""
    found = []
    for name, word, url, key in _PLACES:
        href = href_of(url)
        if href:
            count = open_alerts if name == "alerts" else 0
            found.append(Place(_(word), href, name == here, key, count))
    return found


@register.simple_tag
def href_of(name: str, *args: object) -> str:
    """Address of a page, or nothing when there is no such page. {% href_of "x" as href %}"""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""


@register.simple_tag(takes_context=True)
def look(context: Mapping[str, Any]) -> str:
    """The scheme of this device: light, dark, dim, or nothing for the device's own choice.

    What a person chose on this device comes before what the room's show hours suggest.
    """
    request = context.get("request")
    chosen = request.COOKIES.get(LOOK_COOKIE, "") if request is not None else ""
    if chosen in LOOKS:
        return str(chosen)
    if chosen == "device":
        return ""
    suggested = str(context.get("suggested_look", ""))
    return suggested if suggested in LOOKS else ""
