"""The emergency cards in somebody's language, and the number to ring in a country."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from pathlib import Path

import maintenance
from gallery_ops.kernel.errors import Unknown
from maintenance.schedule.cards import FALLBACK, Card, read_cards

FOLDER = Path(maintenance.__file__).parent / "catalogue" / "cards"


@lru_cache(maxsize=16)
def cards(language: str) -> tuple[Card, ...]:
    """All cards in the order of the picker, people first; English where the language has none.

    language : BCP 47 tag; `de-AT` finds the cards in German.
    """
    tag = language.lower().split("-")[0]
    return read_cards(FOLDER, tag if tag.isalpha() else FALLBACK)


def card(key: str, language: str) -> Card:
    """One card. Raises Unknown when there is none of this key."""
    found = next((each for each in cards(language) if each.key == key), None)
    if found is None:
        raise Unknown("card")
    return found


@lru_cache(maxsize=1)
def emergency_numbers() -> dict[str, str]:
    """Number for fire and ambulance by country (ISO 3166-1)."""
    content = tomllib.loads((FOLDER / "numbers.toml").read_text(encoding="utf-8"))
    return dict(content["emergency_number"])


def emergency_number(country: str) -> str:
    """The number of this country, or nothing where the catalogue knows none."""
    return emergency_numbers().get(country.upper(), "")
