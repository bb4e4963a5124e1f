"""A day as it comes out of a form."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused


def a_day(text: str, field: str, label: str) -> date | None:
    """A day as a browser sends it; empty is none. Raises Refused naming the field."""
    if not text.strip():
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise Refused(
            "no_day",
            _("%(label)s: “%(text)s” is no day.") % {"label": label, "text": text[:20]},
            {field: _("Such as 2026-04-03.")},
        ) from None
