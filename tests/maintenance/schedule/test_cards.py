"""The cards of the first minute: people first, short, honest about what no program can do.

What each card must contain is the usual caution in such a place: common practice, no source. That
carbon dioxide is heavier than air and that nobody follows into a filled room: HSE, general hazards
of carbon dioxide (hse.gov.uk/carboncapture/carbondioxide.htm).
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

import maintenance
from gallery_ops.kernel.values.limits import OutOfRange
from maintenance.schedule.cards import AVOID, Card, card_from, filled, ordered, read_cards

FOLDER = Path(maintenance.__file__).parent / "catalogue" / "cards"
LANGUAGES = ("en", "de")
SIX = ["gas", "hurt", "water", "glass", "power", "gasping"]
EIGHT = [
    "heater_on", "heater_off", "tap_water", "deaths", "wrong_dose", "ammonia", "spray", "escaped",
]  # fmt: skip
ALL = SIX + EIGHT


def cards(language: str = "en") -> dict[str, Card]:
    return {card.key: card for card in read_cards(FOLDER, language)}


@pytest.mark.parametrize("language", LANGUAGES)
def test_fourteen_cards_people_first(language: str) -> None:
    found = read_cards(FOLDER, language)
    assert [card.key for card in found] == ALL
    assert [card.is_people for card in found] == [True, True] + [False] * 12
    assert [card.key for card in found if card.is_tile] == SIX
    assert all(card.lines[0].of == "people" for card in found)
    assert all(1 <= len(card.lines) <= 7 for card in found)
    assert all(card.language == language for card in found)


def test_a_missing_card_falls_back_to_english() -> None:
    assert {card.language for card in read_cards(FOLDER, "fr")} == {"en"}


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_card_promises_what_it_cannot_keep(language: str) -> None:
    for card in read_cards(FOLDER, language):
        words = set(re.findall(r"\w+", " ".join(card.texts).casefold()))
        assert not words & set(AVOID), card.key
        assert not re.search(r"safe", " ".join(card.texts), re.I), card.key
        assert re.search(r"cannot|kann (kein|nicht)", card.cannot)
        assert re.search(r"Ring|[Aa]nrufen", card.cannot)


def test_the_gas_card_sends_nobody_in() -> None:
    text = " ".join(line.text for line in cards()["gas"].lines)
    assert text.startswith("Do not go in.")
    assert "from outside only" in text
    assert "Do not follow, not even on one held breath" in text
    assert "until a competent person has measured" in text
    assert "{emergency_number}" in text
    for wrong in ("go in to", "hold your breath", "rescue"):
        assert wrong not in text


@pytest.mark.parametrize(
    ("key", "cautions"),
    [
        ("heater_on", ["Power off at the RCD", "No hand into the water", "2 °C an hour", "No ice"]),
        ("heater_off", ["Wet socket", "2 °C an hour", "dry hand", "Do not feed"]),
        ("tap_water", ["Stop filling", "all the water in the tank", "rinse the eyes"]),
        ("deaths", ["Everybody out", "Do not feed, do not dose", "Gloves", "not near food"]),
        ("wrong_dose", ["Add nothing to balance", "50 %", "skip the next days", "for the doctor"]),
        ("ammonia", ["Stop all food", "50 %", "pH no higher", "Test again"]),
        ("spray", ["Windows and doors open", "No flame", "carbon", "shrimps"]),
        ("escaped", ["hold the child first", "hold nobody, follow nobody", "wet hands"]),
        ("hurt", ["Power off first", "dry place", "Do not touch", "defibrillator", "Stay out"]),
        ("water", ["from a dry place", "RCD", "no hand on a plug", "Visitors out"]),
        ("glass", ["Nobody touches the pane", "Everybody out", "below the crack", "Gloves"]),
        ("power", ["shut by hand", "nobody alone", "Battery air", "Do not feed", "lights last"]),
        (
            "gasping",
            ["Everybody out", "Gas of this tank off", "Air stone", "Light on", "30 to 50 %"],
        ),
    ],
)
def test_each_card_carries_its_cautions(key: str, cautions: list[str]) -> None:
    text = " ".join(line.text for line in cards()[key].lines)
    assert [caution for caution in cautions if caution not in text] == []


def test_what_rests_while_a_card_is_open() -> None:
    stops = {key: card.stops for key, card in cards().items()}
    assert {key for key, what in stops.items() if what == "nothing"} == {"hurt", "escaped"}
    assert {key for key, what in stops.items() if what == "gallery"} == {"power"}
    assert {key for key, what in stops.items() if what == "room"} == {"gas", "water", "spray"}
    assert [card.key for card in cards().values() if card.is_released] == ["gas"]
    assert [n for n, line in enumerate(cards()["gas"].lines, 1) if line.counts_people] == [3]


def test_no_card_asks_anybody_to_go_into_gas() -> None:
    for card in cards().values():
        text = " ".join(card.texts).casefold()
        assert not re.search(r"go in to|go back in|run in|hold (your )?breath", text), card.key


def test_sudden_deaths_lead_to_the_gas_card_first() -> None:
    assert cards()["deaths"].lines[0].card == "gas"


def test_gasping_and_a_fall_among_cylinders_lead_to_the_gas_card_first() -> None:
    assert cards()["gasping"].lines[0].card == "gas"
    assert "gas" in {line.card for line in cards()["hurt"].lines}


def test_german_lines_stand_for_the_same_things_as_the_english() -> None:
    english, german = cards("en"), cards("de")
    for key in ALL:
        assert [(line.of, line.card, line.counts_people) for line in english[key].lines] == [
            (line.of, line.card, line.counts_people) for line in german[key].lines
        ]
        for same in ("order", "is_people", "stops", "is_released"):
            assert getattr(english[key], same) == getattr(german[key], same), (key, same)
        assert len(english[key].afterwards) == len(german[key].afterwards)


def test_the_number_of_the_country_is_filled_in() -> None:
    line = cards()["gas"].lines[3].text
    assert filled(line, "112").startswith("Ring 112: carbon dioxide.")


# Wrong cards, to show that the reader refuses them.
def good() -> dict[str, Any]:
    return tomllib.loads((FOLDER / "en" / "water.toml").read_text(encoding="utf-8"))


def test_the_card_used_below_is_accepted() -> None:
    assert card_from("water", "en", good()).name == "Water on the floor"


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"line": [{"of": "place", "text": "Bucket under."}]}, "a line about people"),
        ({"line": [{"of": "people", "text": "x"}] * 8}, "1 to 7 lines"),
        ({"line": []}, "1 to 7 lines"),
        ({"line": [{"of": "people", "text": "The room is safe."}]}, 'not "safe"'),
        ({"line": [{"of": "people", "text": "Please leave."}]}, 'not "please"'),
        ({"line": [{"of": "people", "text": "x" * 85}]}, "1 to 84 characters"),
        ({"line": [{"of": "people", "text": "Ring {number}"}]}, "plain text"),
        ({"line": [{"of": "people", "text": "<b>Out</b>"}]}, "plain text"),
        (
            {"line": [{"of": "people", "text": "Out", "colour": "red"}]},
            "text, of, card and counts_people",
        ),
        ({"line": [{"of": "plants", "text": "Out"}]}, "people, animals, place"),
        (
            {"line": [
                {"of": "people", "text": "Out"},
                {"of": "place", "text": "Bucket"},
                {"of": "animals", "text": "Air"},
            ]},
            "animals before the place",
        ),
        ({"people": True}, "people only"),
        ({"stops": "everything"}, "tank, room, gallery, nothing"),
        ({"cannot": ""}, "1 to 160 characters"),
        ({"first": ""}, "1 to 48 characters"),
        ({"order": "1"}, "a whole number"),
        ({"colour": "red"}, "one of"),
        ({"afterwards": "later"}, "a list of sentences"),
    ],
)  # fmt: skip
def test_a_card_that_breaks_a_rule_is_refused(change: dict[str, Any], what: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        card_from("water", "en", good() | change)
    assert refused.value.field.startswith("Card water")
    assert what in refused.value.allowed


def test_a_link_into_nothing_is_refused() -> None:
    with pytest.raises(OutOfRange, match="the key of another card"):
        ordered([card_from("water", "en", good())])


def test_a_folder_without_cards_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OutOfRange, match="at least one card"):
        read_cards(tmp_path, "en")


def test_a_file_that_is_no_table_is_refused(tmp_path: Path) -> None:
    (tmp_path / "en").mkdir()
    (tmp_path / "en" / "gas.toml").write_text("name = ", encoding="utf-8")
    with pytest.raises(OutOfRange, match="TOML file"):
        read_cards(tmp_path, "en")
