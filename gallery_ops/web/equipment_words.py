"""A piece of equipment and what does not fit, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gallery_ops.overview.equipment_page import Piece
from gallery_ops.web import words
from gallery_ops.web.forms.equipment import TIMES, clock_of
from gallery_ops.web.water_words import interlock
from tanks.models import Equipment, EquipmentService
from tanks.queries.equipment import figure
from tanks.science.interlocks import Found
from tanks.services.equipment import ALLOWED, NAMES

UNITS = {
    "power_w": "W",
    "on_h": "",
    "off_h": "",
    "hours_per_day": "h",
    "ppfd_umol": "µmol/m²/s",
    "flow_l_per_h": "L/h",
}
KIND_WORDS: list[tuple[str, str | Promise]] = [
    ("light", gettext_lazy("Light")),
    ("filter", gettext_lazy("Canister filter")),
    ("heater", gettext_lazy("Heater")),
    ("pump", gettext_lazy("Pump")),
    ("gas", gettext_lazy("Gas timer")),
    ("lid", gettext_lazy("Lid")),
]


@dataclass(frozen=True, slots=True)
class Field:
    """One figure of a form: key, label, unit, hint and what stands in it now."""

    key: str
    label: str
    unit: str
    hint: str
    value: str


@dataclass(frozen=True, slots=True)
class ShownPiece:
    """One piece as the page says it."""

    piece: Piece
    kind: str
    facts: list[tuple[str, str]]
    fields: list[Field]
    part: float | None
    services: list[tuple[EquipmentService, str]]


def shown(piece: Piece) -> ShownPiece:
    """A piece with its figures in words."""
    row = piece.serving.row
    kind = str(dict(KIND_WORDS)[row.kind])
    values = {key: figure(row, key) for key in ALLOWED[row.kind]}
    return ShownPiece(
        piece,
        kind,
        _facts(piece, values),
        fields(row.kind, values),
        piece.serving.flow_part,
        [(one, _flow_words(one, row)) for one in piece.serving.services],
    )


def _flow_words(one: EquipmentService, row: Equipment) -> str:
    """The flow that was measured then, and against the clean one; empty where none was."""
    now, clean = one.flow_l_per_h, figure(row, "flow_l_per_h")
    if now is None:
        return ""
    if not clean:
        return _("%(n)s L/h") % {"n": words.number(now)}
    return _("%(n)s of %(clean)s L/h clean, %(part)s %%") % {
        "n": words.number(now),
        "clean": words.number(clean),
        "part": words.number(100 * now / clean, 0),
    }


def fields(kind: str, values: Mapping[str, float | None]) -> list[Field]:
    """The figures of a kind as fields."""
    found = []
    for key, (low, high) in ALLOWED[kind].items():
        value = values.get(key)
        if key in TIMES:
            text, hint = clock_of(value), _("such as 10:30")
        else:
            text = "" if value is None else f"{value:g}".replace(".", words.mark_in_use())
            hint = _("%(low)s to %(high)s") % {"low": f"{low:g}", "high": f"{high:g}"}
        found.append(Field(key, str(NAMES[key]), UNITS[key], hint, text))
    return found


def _facts(piece: Piece, values: Mapping[str, float | None]) -> list[tuple[str, str]]:
    """What is known of a piece: its figures, what follows from them, and where it is plugged in."""
    row, now = piece.serving.row, piece.serving.flow_now
    hours = f"{clock_of(values.get('on_h'))} – {clock_of(values.get('off_h'))}"
    figures = [
        (str(NAMES[key]), _with_unit(values.get(key), UNITS[key]))
        for key in ("hours_per_day", "power_w", "flow_l_per_h", "ppfd_umol")
    ]
    told = [
        (_("Runs"), hours if values.get("on_h") is not None else ""),
        *figures,
        (_("Flow now"), _with_unit(now.flow_l_per_h if now else None, "L/h")),
        (_("All the water"), _with_unit(piece.turnover, _("times an hour"), 1)),
        (_("Uses"), _with_unit(piece.kwh_a_day, _("kWh a day"), 2)),
        (_("Light of a day"), _with_unit(piece.light_mol, "mol/m²", 2)),
        (_("Socket, circuit"), ", ".join(text for text in (row.socket, row.circuit) if text)),
        (_("Serial"), row.serial),
        (_("Spares"), row.spares),
    ]
    return [(label, text) for label, text in told if text]


def _with_unit(value: float | None, unit: str, decimals: int | None = None) -> str:
    return "" if value is None else f"{words.number(value, decimals)} {unit}"


def found_words(one: Found) -> str:
    """What does not fit, with its figure and its limit."""
    return interlock({"found": one.what, "is_so": one.is_so, "limit": one.limit})
