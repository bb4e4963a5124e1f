"""What a person found out about a stock: the answers, and what each of them does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import uuid4

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.alert_page import AlertPage

EXPLAINED = "finding"


@dataclass(frozen=True, slots=True)
class FindingForm:
    """The form as it stands: choices with their effects, what was typed, and first and last day."""

    choices: list[tuple[str, str, str]]
    typed: Mapping[str, str]
    from_on: str
    last_on: str
    action_id: str
    """Names this filling in, so that it counts once however often it is sent."""


def finding_form(page: AlertPage, typed: Mapping[str, str] | None = None) -> FindingForm | None:
    """The form for an open alert about a container's content; None for any other."""
    alert = page.alert
    told = next((one for one in alert.because if one.get("what") == EXPLAINED), None)
    if alert.closed_at is not None or alert.subject_kind != "container":
        return None
    if told is None and alert.kind not in {"gas_use", "variance"}:
        return None
    said = typed or {}
    first = str((told or alert.because[0]).get("from", "")) if alert.because else ""
    return FindingForm(
        choices=choices(),
        typed=said,
        from_on=said.get("from_on", first),
        last_on=said.get("last_on", ""),
        action_id=said.get("action_id") or str(uuid4()),
    )


def choices() -> list[tuple[str, str, str]]:
    """Answer, its words, and its effect."""
    return [
        ("all_right", _("Weighed again, all right"), _("these days are not asked about again")),
        (
            "leak",
            _("A leak, or a valve left open"),
            _("the loss counts from the first day to the last; without a last day it still runs"),
        ),
        (
            "spilled",
            _("Spilled, or used for something else"),
            _("it went once, within these days; how much is taken from the weighings"),
        ),
        (
            "wrong_reading",
            _("A wrong reading, or another container"),
            _("that reading hardly counts any more"),
        ),
        ("refilled", _("Refilled without a note"), _("it came once, within these days")),
        ("booked_late", _("A receipt was booked late"), _("it came within these days")),
        (
            "wrong_press",
            _("The pump gives another amount"),
            _("these days are explained; weigh 20 presses and change the instruction"),
        ),
        ("unknown", _("Nothing found"), _("these days are not asked about again")),
    ]


def day_typed(typed: Mapping[str, str], field: str, label: str) -> date | None:
    """A day as a form sends it; None for an empty field. Raises Refused naming the field."""
    text = typed.get(field, "").strip()
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Refused(
            "no_day",
            _("%(label)s: “%(text)s” is no day.") % {"label": label, "text": text[:20]},
            {field: _("Allowed: year, month and day, such as 2026-03-12.")},
            _("Choose the day."),
        ) from None
