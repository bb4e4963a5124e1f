"""The size of a tank that somebody thinks of, as typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from django.utils.translation import gettext as _

from gallery_ops.kernel.errors import Refused
from gallery_ops.overview.add_sheet import Wish
from gallery_ops.web.forms.boxes import Box, Choice
from gallery_ops.web.forms.numbers import whole_or_decimal
from tanks.science.filling import Glass

RANGES: dict[str, tuple[float, float, str]] = {
    "length": (10, 400, "cm"),
    "width": (10, 200, "cm"),
    "height": (10, 120, "cm"),
    "glass": (3, 40, "mm"),
    "stand": (0, 2_000, "kg"),
    "power": (0, 5_000, "W"),
    "light": (0, 24, "h"),
    "breaker": (1, 63, "A"),
}
"""What can be answered; a tank outside it is a building work, not a worksheet."""
MAY_BE_EMPTY = frozenset({"breaker"})
USUAL = {"stand": "0", "power": "0", "light": "8"}


def boxes(rooms: Sequence[Choice], circuits: Sequence[str]) -> list[Box]:
    """The fields, in their order."""
    return [
        Box("length", _("Length outside, cm"), _range("length")),
        Box("width", _("Width outside, cm"), _range("width")),
        Box("height", _("Height outside, cm"), _range("height")),
        Box("glass", _("Glass, mm"), _range("glass")),
        Box("co2", _("With CO2"), kind="check"),
        Box("room", _("In which room"), kind="select", choices=[("", _("not chosen")), *rooms]),
        Box("stand", _("Mass of the stand, kg"), _range("stand")),
        Box("power", _("Light, filter, heater together, W"), _range("power")),
        Box("light", _("Hours a day at that power"), _range("light")),
        Box(
            "circuit",
            _("Circuit"),
            kind="select",
            choices=[("", _("not known")), *((one, one) for one in circuits)],
        ),
        Box("breaker", _("Its breaker, A"), _("As printed on it; may stay empty.")),
    ]


def read(typed: Mapping[str, str]) -> Wish:
    """What was typed.

    Raises
    ------
    Refused
        ``sizes`` naming every field that is empty, no number or out of range.
    """
    wrong: dict[str, str] = {}
    found: dict[str, float] = {}
    for name in RANGES:
        number = _number(name, typed.get(name, ""), wrong)
        if number is not None:
            found[name] = number
    if wrong:
        raise Refused("sizes", _("It cannot be worked out yet."), wrong)
    glass = Glass(found["length"] * 10, found["width"] * 10, found["height"] * 10, found["glass"])
    return Wish(
        glass=glass,
        has_co2=typed.get("co2") == "yes",
        room=typed.get("room", ""),
        stand_kg=found["stand"],
        power_w=found["power"],
        light_h=found["light"],
        circuit=typed.get("circuit", ""),
        breaker_a=found.get("breaker"),
    )


def _number(name: str, text: str, wrong: dict[str, str]) -> float | None:
    low, high, unit = RANGES[name]
    try:
        number = whole_or_decimal(text or USUAL.get(name, ""), name)
    except Refused as no:
        wrong[name] = f"{no.sentence} {_range(name)}"
        return None
    if number is None:
        if name not in MAY_BE_EMPTY:
            wrong[name] = _("Nothing was typed.") + f" {_range(name)}"
        return None
    if not low <= number <= high:
        said = _("%(text)s is out of range.") % {"text": f"{text.strip()} {unit}"}
        wrong[name] = f"{said} {_range(name)}"
        return None
    return number


def _range(name: str) -> str:
    low, high, unit = RANGES[name]
    return _("%(low)s to %(high)s %(unit)s.") % {
        "low": f"{low:g}",
        "high": f"{high:,g}",
        "unit": unit,
    }
