"""A test of the water as it comes out of its form: what was typed, line by line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.web import words
from tanks.queries.reading_sheet import SheetLine
from tanks.services.water_tests import REALLY, Entry

PHASES = ("on", "off")


@dataclass(frozen=True, slots=True)
class TypedLine:
    """One parameter of the form with what was typed, what is wrong and what it read last."""

    line: SheetLine
    entry: Entry
    error: str
    asks: str

    @property
    def key(self) -> str:
        """Key of the parameter, which begins the names of its fields."""
        return self.line.parameter.key

    @property
    def allowed(self) -> str:
        """What cannot be and what is usual here, in words."""
        ranges = self.line.ranges
        if ranges.hard_low is None or ranges.hard_high is None:
            return ""
        hard = _("%(low)s to %(high)s") % {
            "low": words.number(ranges.hard_low, 2),
            "high": words.number(ranges.hard_high, 2),
        }
        usual = ranges.usual_text()
        return _("%(hard)s; usual %(usual)s") % {"hard": hard, "usual": usual} if usual else hard


def entries_of(typed: Mapping[str, str], keys: list[str]) -> list[Entry]:
    """The lines in which something was read, in the order of the form."""
    found = [entry_of(typed, key) for key in keys]
    return [entry for entry in found if entry.text]


def entry_of(typed: Mapping[str, str], key: str) -> Entry:
    """One line as typed."""
    return Entry(
        key=key,
        text=typed.get(key, "").strip(),
        counted_as=typed.get(f"{key}.as", ""),
        method=typed.get(f"{key}.method", ""),
        reagent_lot=typed.get(f"{key}.lot", ""),
        is_really=bool(typed.get(f"{key}{REALLY}")),
    )


def typed_lines(
    lines: list[SheetLine], typed: Mapping[str, str], trouble: Refused | None
) -> list[TypedLine]:
    """Every line of the form."""
    wrong = trouble.fields if trouble else {}
    return [
        TypedLine(
            line,
            entry_of(typed, line.parameter.key),
            wrong.get(line.parameter.key, ""),
            wrong.get(line.parameter.key + REALLY, ""),
        )
        for line in lines
    ]


def moment(text: str, zone: tzinfo, field: str) -> datetime | None:
    """Day and time as a browser sends them, on the clocks of the gallery; empty is none.

    Raises Refused naming the field.
    """
    if not text.strip():
        return None
    try:
        return datetime.fromisoformat(text.strip()[:19]).replace(tzinfo=zone)
    except ValueError:
        raise Refused(
            "no_moment",
            _("“%(text)s” is no day with a time.") % {"text": text[:20]},
            {field: _("Such as 2026-04-03 09:30.")},
            _("Leave it empty if it was just now."),
        ) from None


def phase(text: str) -> str:
    """Lights on or off, or nothing said."""
    return text if text in PHASES else ""
