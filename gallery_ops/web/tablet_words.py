"""What lies behind an alert about tablets and what was entered on them, in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from gallery_ops.web.words import day

Figures = Mapping[str, Any]


def two_versions(r: Figures) -> str:
    said = _("%(kind)s by %(by)s, heard %(day)s") % {
        "kind": r["kind"],
        "by": r.get("by") or _("nobody known"),
        "day": day(date.fromisoformat(str(r["at"])[:10])),
    }
    return said


def to_confirm(r: Figures) -> str:
    return _("%(task)s, signed by %(by)s on %(day)s") % {
        "task": r["task"],
        "by": r["by"],
        "day": day(date.fromisoformat(str(r["at"])[:10])),
    }


def given_stopped(r: Figures) -> str:
    return _("%(tank)s, %(given)s at %(at)s by %(by)s") % {
        "tank": r["tank"],
        "given": r["given"],
        "at": str(r["at"])[11:16],
        "by": r["by"],
    }


def tablet_after(r: Figures) -> str:
    words = {
        "not_heard": _("has not been heard since"),
        "sending": _("is sending, or was cut off"),
        "gaps": _("has sent all it holds; numbers %(missing)s are missing"),
    }
    return f"{r['name']}: {words.get(r['state'], '') % {'missing': r.get('missing', '')}}"


TABLET_TERMS: dict[str, tuple[str, Callable[[Figures], str]]] = {
    "two_versions": ("Entry", two_versions),
    "to_confirm": ("Unconfirmed", to_confirm),
    "given_stopped": ("Given", given_stopped),
    "tablet_after": ("Tablet", tablet_after),
}
