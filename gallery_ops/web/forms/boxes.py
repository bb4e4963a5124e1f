"""Fields of a form as plain values: label, what was typed or stands, hint, and what is wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

Choice = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Box:
    """One field. kind: text, area, date, select, check, list (text with known names offered)."""

    name: str
    label: str
    hint: str = ""
    kind: str = "text"
    choices: Sequence[Choice] = ()
    value: str = ""
    error: str = ""
    of: str = ""
    longest: int = 120

    @property
    def id(self) -> str:
        """Its id on the page, where fields of several forms stand."""
        return f"{self.of}{self.name}"


def filled(
    boxes: Sequence[Box],
    values: Mapping[str, object],
    *,
    typed: Mapping[str, str] | None = None,
    errors: Mapping[str, str] | None = None,
    of: str = "",
) -> list[Box]:
    """The fields with what stands in them; what was typed comes before what is known."""

    def value(name: str) -> str:
        if typed is not None:
            return typed.get(name, "")
        known = values.get(name)
        return "" if known is None else str(known)

    return [
        replace(box, value=value(box.name), error=(errors or {}).get(box.name, ""), of=of)
        for box in boxes
    ]
