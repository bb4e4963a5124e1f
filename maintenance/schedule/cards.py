"""What must be done in the first minute, and is every card fit to be hung on a wall?

Cards are files under `maintenance/catalogue/cards/<language>/`, one a card, named by its key. This
file reads them and refuses a card that breaks the rules below, so that no page ever shows half a
card:

- people come first: the first line is about people, and a card of the people group is about them
  from the first line to the last;
- at most seven lines, each short enough to be read at arm's length;
- the first act stands on the picker already;
- the card says what this program cannot do;
- it says where giving, feeding and routine tasks rest while it is open: `stops`;
- no word that promises more than a card can keep.

Local rules and trained people decide; a card is a help to memory.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from gallery_ops.kernel.values.limits import OutOfRange

FALLBACK: Final = "en"
MOST_LINES: Final = 7
LONGEST_LINE: Final = 84
LONGEST_FIRST: Final = 48
LONGEST_NAME: Final = 28
SUBJECTS: Final = ("people", "animals", "place")
KEY: Final = re.compile(r"[a-z][a-z_]{1,19}")
TILES: Final = 6
"""So many cards have a picture on the picker; the others are rows under them."""
STOPS: Final = ("tank", "room", "gallery", "nothing")
PLACEHOLDER: Final = "{emergency_number}"
# Words that promise what no card can, or that nobody shouts across a wet room.
AVOID: Final = (
    "safe", "safely", "safety", "alert", "protocol", "please", "acknowledge", "hazmat",
    "sicher", "sichere", "sicherheit", "gefahrlos", "bitte", "protokoll",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CardLine:
    """One numbered line.

    of : people, animals or place. card : key of the card that it opens. counts_people : whoever is
    at work is counted here, one by one.
    """

    text: str
    of: str
    card: str = ""
    counts_people: bool = False


@dataclass(frozen=True, slots=True)
class Card:
    """One card in one language.

    sign : how one notices it. first : the first act, shown on the picker in bold. then : what the
    picker adds. say : what to tell on the telephone. cannot : what this program cannot do.
    stops : what rests while it is open; a tank or a room is asked for on the card. is_released : a
    competent person decides that it is over.
    """

    key: str
    language: str
    order: int
    is_people: bool
    name: str
    first: str
    say: str
    cannot: str
    lines: tuple[CardLine, ...]
    sign: str = ""
    then: str = ""
    afterwards: tuple[str, ...] = ()
    stops: str = "nothing"
    is_released: bool = False

    @property
    def is_tile(self) -> bool:
        """Shown with its picture."""
        return self.order <= TILES

    @property
    def texts(self) -> tuple[str, ...]:
        """Every word of the card, in reading order."""
        own = (self.name, self.sign, self.first, self.then, self.say, self.cannot)
        return tuple(
            text for text in (*own, *(line.text for line in self.lines), *self.afterwards) if text
        )


def read_cards(folder: Path, language: str) -> tuple[Card, ...]:
    """All cards in this language, in the order of the picker; English where one is missing.

    folder : the folder that holds one folder a language.
    Raises OutOfRange naming card and field when a card breaks a rule.
    """
    found = _folder(folder / FALLBACK, FALLBACK)
    if not found:
        raise OutOfRange("cards", "at least one card", str(folder), "Restore the card files.")
    if language != FALLBACK:
        found |= _folder(folder / language, language)
    return ordered(found.values())


def ordered(cards: Iterable[Card]) -> tuple[Card, ...]:
    """Cards in the order of the picker: people first. Refuses links into nothing."""
    listed = tuple(sorted(cards, key=lambda card: (not card.is_people, card.order)))
    keys = {card.key for card in listed}
    for card in listed:
        for line in card.lines:
            if line.card and (line.card not in keys or line.card == card.key):
                raise _refused(card.key, "card", "the key of another card", line.card)
    return listed


def card_from(key: str, language: str, content: Mapping[str, object]) -> Card:
    """One checked card from the content of its file."""
    if not KEY.fullmatch(key):
        raise _refused(key, "key", "lower-case letters, as the name of the file", key)
    unknown = set(content) - _FIELDS
    if unknown:
        raise _refused(key, sorted(unknown)[0], f"one of {', '.join(sorted(_FIELDS))}", "")
    card = Card(
        key=key,
        language=language,
        order=_order(key, content),
        is_people=content.get("people") is True,
        name=_text(key, content, "name", LONGEST_NAME),
        sign=_text(key, content, "sign", LONGEST_FIRST, may_miss=True),
        first=_text(key, content, "first", LONGEST_FIRST),
        then=_text(key, content, "then", LONGEST_FIRST, may_miss=True),
        say=_text(key, content, "say", 240),
        cannot=_text(key, content, "cannot", 160),
        lines=_lines(key, content),
        afterwards=_afterwards(key, content),
        stops=_stops(key, content),
        is_released=content.get("released") is True,
    )
    _check_people_first(card)
    _check_words(card)
    return card


def filled(text: str, emergency_number: str) -> str:
    """A line with the number of this country in it."""
    return text.replace(PLACEHOLDER, emergency_number)


_FIELDS: Final = frozenset(
    [
        "order",
        "people",
        "stops",
        "released",
        "name",
        "sign",
        "first",
        "then",
        "say",
        "cannot",
        "afterwards",
        "line",
    ]
)


def _folder(folder: Path, language: str) -> dict[str, Card]:
    found = {}
    for path in sorted(folder.glob("*.toml")):
        try:
            content = tomllib.loads(path.read_text(encoding="utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            raise OutOfRange(path.stem, "a TOML file in UTF-8", str(error)) from error
        found[path.stem] = card_from(path.stem, language, content)
    return found


def _check_people_first(card: Card) -> None:
    subjects = [line.of for line in card.lines]
    if subjects[0] != "people":
        raise _refused(card.key, "line 1", "a line about people", card.lines[0].text)
    if card.is_people and set(subjects) != {"people"}:
        raise _refused(card.key, "line", "people only, on a card of the people group", subjects)
    places = [at for at, subject in enumerate(subjects) if subject == "place"]
    animals = [at for at, subject in enumerate(subjects) if subject == "animals"]
    if places and animals and places[0] < animals[-1]:
        raise _refused(card.key, "line", "animals before the place", card.lines[places[0]].text)


def _check_words(card: Card) -> None:
    for text in card.texts:
        for word in re.findall(r"[^\W\d_]+", text.casefold()):
            if word in AVOID:
                raise _refused(card.key, "words", f'words that a card can keep, not "{word}"', text)
        rest = text.replace(PLACEHOLDER, "")
        if re.search(r"[{}<>]", rest):
            raise _refused(card.key, "words", f"plain text and {PLACEHOLDER}", text)


def _lines(key: str, content: Mapping[str, object]) -> tuple[CardLine, ...]:
    listed = content.get("line")
    if not isinstance(listed, list) or not 1 <= len(listed) <= MOST_LINES:
        raise _refused(key, "line", f"1 to {MOST_LINES} lines", "")
    return tuple(_line(f"{key}, line {number}", line) for number, line in enumerate(listed, 1))


def _line(where: str, content: object) -> CardLine:
    if not isinstance(content, dict) or set(content) - {"of", "text", "card", "counts_people"}:
        raise _refused(where, "line", "text, of, card and counts_people", content)
    subject = content.get("of")
    if subject not in SUBJECTS:
        raise _refused(where, "of", ", ".join(SUBJECTS), subject)
    return CardLine(
        text=_text(where, content, "text", LONGEST_LINE),
        of=str(subject),
        card=_text(where, content, "card", 20, may_miss=True),
        counts_people=content.get("counts_people") is True,
    )


def _afterwards(key: str, content: Mapping[str, object]) -> tuple[str, ...]:
    listed = content.get("afterwards", [])
    if not isinstance(listed, list) or not all(isinstance(text, str) for text in listed):
        raise _refused(key, "afterwards", "a list of sentences", listed)
    return tuple(listed)


def _stops(key: str, content: Mapping[str, object]) -> str:
    stops = content.get("stops")
    if stops not in STOPS:
        raise _refused(key, "stops", ", ".join(STOPS), stops)
    return str(stops)


def _order(key: str, content: Mapping[str, object]) -> int:
    order = content.get("order")
    if not isinstance(order, int) or isinstance(order, bool):
        raise _refused(key, "order", "a whole number", order)
    return order


def _text(
    key: str, content: Mapping[str, object], field: str, longest: int, *, may_miss: bool = False
) -> str:
    text = content.get(field, "")
    if not isinstance(text, str) or len(text) > longest or not (text.strip() or may_miss):
        least = 0 if may_miss else 1
        raise _refused(key, field, f"text of {least} to {longest} characters", text)
    return text.strip()


def _refused(key: str, field: str, allowed: str, got: object) -> OutOfRange:
    return OutOfRange(f"Card {key}, {field}", allowed, str(got), "Change the file of this card.")
