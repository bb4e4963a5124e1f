"""Filters and tags of the pages on which readings are written and shown.

Filter: reading_text. Tags: word_of, outside_then, range_bar, side_field.
"""

from __future__ import annotations

from collections.abc import Mapping

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from gallery_ops.drawing.ranges import range_svg
from gallery_ops.web import words
from gallery_ops.web.attempts import Deed
from gallery_ops.web.range_words import wanted_then
from gallery_ops.web.words import mark_in_use
from maintenance.queries import pack_words
from tanks.models import Parameter, Reading
from tanks.queries.own_ranges import Holding
from tanks.queries.readings import Ranges

register = template.Library()


@register.filter
def reading_text(row: Reading) -> str:
    """A reading with its unit, or its word."""
    return pack_words.reading_text(row, mark_in_use())


@register.simple_tag
def word_of(key: str, word: str) -> str:
    """A word of a list as people say it."""
    return str(pack_words.word_label(key, word))


@register.simple_tag
def outside_then(outside: Mapping[int, Ranges], row: Reading) -> str:
    """What was wanted when this was read, where it lay outside of it; else empty."""
    ranges = outside.get(row.pk)
    return "" if ranges is None else wanted_then(ranges, row.parameter.unit_text)


@register.simple_tag
def range_bar(ranges: Ranges, parameter: Parameter) -> SafeString:
    """What can be, what is asked about and what raises an alert, one inside the other."""
    unit = f" {parameter.unit_text}" if parameter.unit_text else ""
    wanted = _span(ranges.alarm_low, ranges.alarm_high)
    asked = _beyond(ranges.ask_low, ranges.ask_high)
    said = _("wanted %(span)s") % {"span": wanted + unit} if wanted else _("no alert")
    more = _("asked again %(span)s") % {"span": asked + unit} if asked else ""
    picture = range_svg(
        (ranges.hard_low, ranges.hard_high),
        (ranges.ask_low, ranges.ask_high),
        (ranges.alarm_low, ranges.alarm_high),
    )
    return format_html(
        '{}<p><b>{}</b> <span class="note">{}</span></p>', mark_safe(picture), said, more
    )


@register.simple_tag
def side_field(
    side: str,
    label: str,
    row: Holding,
    deed: Deed,
    typed: Mapping[str, str],
    at_field: Mapping[str, str],
) -> SafeString:
    """A field for one side of a range: as typed, else the tank's own, and what is wrong with it."""
    is_mine = deed.name == row.parameter.key
    own = getattr(row.of_tank, side, None)
    stands = "" if own is None else f"{own:g}".replace(".", mark_in_use())
    error = at_field.get(side, "") if is_mine else ""
    return format_html(
        '<div class="field"><label for="{0}_{1}">{2}</label><input id="{0}_{1}" name="{0}" '
        'inputmode="decimal" autocomplete="off" value="{3}"{4}>{5}</div>',
        side,
        row.parameter.key,
        label,
        typed.get(side, "") if is_mine else stands,
        mark_safe(' aria-invalid="true"') if error else "",
        format_html('<p class="field-err">{}</p>', error) if error else "",
    )


def _span(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return ""
    if low is None:
        return _("at most %(high)s") % {"high": words.number(high or 0, 2)}
    if high is None:
        return _("at least %(low)s") % {"low": words.number(low, 2)}
    return _("%(low)s to %(high)s") % {"low": words.number(low, 2), "high": words.number(high, 2)}


def _beyond(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return ""
    if low is None:
        return _("above %(high)s") % {"high": words.number(high or 0, 2)}
    if high is None:
        return _("below %(low)s") % {"low": words.number(low, 2)}
    return _("below %(low)s and above %(high)s") % {
        "low": words.number(low, 2),
        "high": words.number(high, 2),
    }
