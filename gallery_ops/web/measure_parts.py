"""Filters and tags of the pages where stock is measured.

Filters: plain_grams, per_thousand, kilograms, plain_bar. Tags: container_view, sitting_bar,
measure_why.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from django import template
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from gallery_ops import drawing
from gallery_ops.kernel.values.quantity import Mass
from gallery_ops.web import words
from gallery_ops.web.words import mark_in_use
from inventory.forecast.counting_rule import Due
from inventory.queries.count_plan import ToMeasure

register = template.Library()


@register.filter
def plain_grams(value: Mass | None) -> str:
    """A mass as it is typed into a field, without its unit: 4054."""
    return "" if value is None else value.text(mark_in_use(), "g").removesuffix(" g")


@register.filter
def per_thousand(value: int | None) -> str:
    """A thousandth, exactly: milligrams in grams, microlitres in millilitres."""
    if value is None:
        return ""
    exact = Decimal(value) / 1000
    text = f"{exact:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace(".", mark_in_use())


@register.filter
def kilograms(value: int) -> str:
    """Milligrams in kilograms, to a tenth."""
    return words.number(Decimal(value) / 1_000_000, 1)


@register.filter
def plain_bar(value: int) -> str:
    """Kilopascals in bar, to a tenth."""
    return words.number(Decimal(value) / 100, 1)


@register.simple_tag
def container_view(
    kind: str, full: float, *, regulator: object = None, is_known: object = True, label: str = ""
) -> SafeString:
    """A container, drawn and filled; dashed where nobody measured it."""
    return mark_safe(
        drawing.container_svg(
            kind,
            full if is_known else None,
            regulator=bool(regulator),
            sentence=label,
        )
    )


@register.simple_tag
def sitting_bar(done: int, of: int) -> SafeString:
    """Progress as one long vessel that fills; silent, its words stand above it."""
    part = 100 * done / of if of else 0
    return mark_safe(
        '<svg class="sit-bar" aria-hidden="true" focusable="false">'
        f'<rect class="f" x="0" y="2" width="{part:.2f}%" height="24"/>'
        '<line class="o" x1="0" x2="0" y1="0" y2="27"/>'
        '<line class="o" x1="0" x2="100%" y1="27" y2="27"/>'
        '<line class="o" x1="100%" x2="100%" y1="0" y2="27"/>'
        + (f'<line class="l" x1="{part:.2f}%" x2="{part:.2f}%" y1="2" y2="26"/>' if part else "")
        + "</svg>"
    )


@register.simple_tag
def measure_why(row: ToMeasure, unable: Mapping[str, str]) -> str:
    """Why it is in the plan, and since when."""
    due = row.due
    if due is None:
        return _("not asked for this week")
    if due.done_on is not None:
        return _("measured this week")
    if row.code in unable:
        return _("could not be measured today: %(why)s") % {"why": unable[row.code]}
    plain = {
        "below_nothing": _("the books hold less than nothing: measure it first"),
        "random": _("chosen at random this week"),
        "never": _("never measured"),
    }
    return plain.get(due.why) or _by_class(due)


def _by_class(due: Due) -> str:
    every = {"A": _("every week"), "B": _("every month"), "C": _("every quarter")}[due.why]
    if due.since_on is not None:
        return _("%(every)s, due since %(on)s") % {"every": every, "on": words.day(due.since_on)}
    if due.due_on is not None:
        return _("%(every)s, due %(on)s") % {"every": every, "on": words.day(due.due_on)}
    return every
