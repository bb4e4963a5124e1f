"""Tags of the page of equipment: flow_bar, equipment_fields, equipment_words, new_fields.

Filter: part_percent.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from gallery_ops.drawing.ranges import part_svg
from gallery_ops.web import words
from gallery_ops.web.attempts import Deed
from gallery_ops.web.equipment_words import Field, fields
from tanks.models import Equipment
from tanks.science.interlocks import LEAST_FLOW_PART

register = template.Library()
FIELD = (
    '<div class="field"><label for="{0}_{1}">{2}</label>'
    '<span class="hint" id="{0}_{1}_h">{3}</span>'
    '<input id="{0}_{1}" name="{0}" autocomplete="off" aria-describedby="{0}_{1}_h" value="{4}"{5}>'
    "{6}</div>"
)
LONGEST = {"name": 80, "serial": 60, "socket": 40, "circuit": 40, "spares": 200}


@register.simple_tag
def flow_bar(part: float) -> SafeString:
    """Flow now against clean; the border is where a service is asked for."""
    return mark_safe(part_svg(part, LEAST_FLOW_PART))


@register.filter
def part_percent(part: float) -> str:
    """A part of a whole: 49 %."""
    return f"{words.number(part * 100, 0)} %"


@register.simple_tag
def equipment_fields(
    rows: Iterable[Field],
    me: str,
    deed: Deed,
    typed: Mapping[str, str],
    at_field: Mapping[str, str],
) -> SafeString:
    """The figures of a piece, as they stand or as they were typed."""
    is_mine = deed.trouble is not None and me in {typed.get("of"), typed.get("kind")}
    html = []
    for row in rows:
        error = at_field.get(row.key, "") if is_mine else ""
        html.append(
            (
                row.key,
                me,
                f"{row.label}, {row.unit}" if row.unit else row.label,
                row.hint,
                typed.get(row.key, "") if is_mine else row.value,
                mark_safe(' aria-invalid="true"') if error else "",
                format_html('<p class="field-err">{}</p>', error) if error else "",
            )
        )
    return format_html_join("", FIELD, html)


@register.simple_tag
def new_fields(
    kind: str, deed: Deed, typed: Mapping[str, str], at_field: Mapping[str, str]
) -> SafeString:
    """The figures of a piece that is not there yet."""
    return equipment_fields(fields(kind, {}), kind, deed, typed, at_field)


@register.simple_tag
def equipment_words(
    row: Equipment | None, me: str, deed: Deed, typed: Mapping[str, str]
) -> SafeString:
    """Its name, where it is plugged in, what lies ready, and from when that holds."""
    is_mine = deed.trouble is not None and me in {typed.get("of"), typed.get("kind")}
    labels = {
        "name": (_("Name"), _("as people here call it")),
        "serial": (_("Serial"), _("on its plate")),
        "socket": (_("Socket"), _("as it is marked")),
        "circuit": (_("Circuit"), _("as on the board")),
        "spares": (_("Spares"), _("what lies ready, and where")),
    }
    html = [
        (
            key,
            me,
            label,
            hint,
            typed.get(key, "") if is_mine else (getattr(row, key) if row is not None else ""),
            format_html(' maxlength="{}"', LONGEST[key]),
            "",
        )
        for key, (label, hint) in labels.items()
    ]
    since = typed.get("from_at", "") if is_mine else ""
    when = mark_safe(' type="datetime-local"')
    html.append(("from_at", me, _("From"), _("empty is now"), since, when, ""))
    return format_html_join("", FIELD, html)
